"""The demo club: invented gymnasts in rendered pictures."""
