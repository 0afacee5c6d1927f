"""Words to one intent, or to a reason why not; and numbers back to words."""
