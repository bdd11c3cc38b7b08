"""What a session looks like: plan, side view, panels and what lies over them, as shapes."""
