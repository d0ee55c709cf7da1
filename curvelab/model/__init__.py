"""What a user describes, frozen and validated, the catalogue that reads data/, and the link."""
