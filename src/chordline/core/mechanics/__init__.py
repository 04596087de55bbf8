"""The mechanics of the handstand: masses, statics, and the straightest line her ranges allow."""
