"""The certificate that other devices of the club are served with."""
