"""What if: two options side by side, what they change and what they come to."""
