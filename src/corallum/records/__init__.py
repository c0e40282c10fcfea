"""The shared record types: frozen, and without behaviour of their own."""
