"""The vault: pictures and videos are kept encrypted, one key a gymnast."""
