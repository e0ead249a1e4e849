"""Why a ride ended: where on the way, and how far each single change would have to go to save it."""
