"""What Sternpost shows. It computes nothing about aeroplanes: that is the core's."""
