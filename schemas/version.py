"""The version of drainpool. The journal says which one made an edition; raised with every release."""

VERSION = "0.2.0"
FIRST_VERSION = "0.1.0"
"""The version that wrote none into the journal."""
