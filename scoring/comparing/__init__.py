"""Whether a change helped, how far an acceleration may go, and what repeats say of the spread."""
