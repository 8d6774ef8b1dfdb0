"""What the shop asks, allows and promises, set by the owner."""
