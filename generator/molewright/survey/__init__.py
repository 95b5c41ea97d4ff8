"""What the banks hold and what they can make."""
