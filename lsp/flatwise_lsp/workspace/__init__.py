"""The documents that the editor holds, and what the compiler says about them."""
