"""Forms: panes of fields in, one frozen record out."""
