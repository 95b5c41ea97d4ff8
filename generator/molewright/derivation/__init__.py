"""What is asked, worked out from what is given: plan, steps, other right routes. Never performs the experiment."""
