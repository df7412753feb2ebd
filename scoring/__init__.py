"""Score FDM print coupons from photos: ghosting ripple and under-extrusion gaps."""
