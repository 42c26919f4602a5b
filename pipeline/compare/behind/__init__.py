"""What stands behind a headline: moderators, settling, robustness, agreement, small shares, the bend."""
