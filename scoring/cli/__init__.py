"""The command ``coupon``: one file a command, imported when it is called."""
