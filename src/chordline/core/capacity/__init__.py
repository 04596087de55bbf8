"""What her body can and cannot do yet, estimated from the measures of several tests."""
