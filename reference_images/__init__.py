"""Photos with exact truth: a path tracer's scenes of the coupon on its card."""
