"""Questions come in; sheets go out, as trees of nodes that know no output."""
