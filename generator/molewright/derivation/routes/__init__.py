"""Every other legitimate route to what is asked, and the room that its further relations need."""
