"""Sheets at the desk: checked, kept until they are sent, made from the page's own form."""
