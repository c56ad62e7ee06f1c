"""Documents as the editor holds them, and what the compiler says of them."""
