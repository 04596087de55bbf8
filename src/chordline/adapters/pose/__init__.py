"""Automatic landmarks: the BlazePose networks on LiteRT."""
