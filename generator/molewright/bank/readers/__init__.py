"""Files of the banks come in; checked definitions go out. Nothing below the banks knows these readers but who opens them."""
