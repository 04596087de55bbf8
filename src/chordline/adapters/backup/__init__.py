"""Backups on disks: the encrypted file, the folder, copies of the records."""
