package web

// Listed is a line of the table of routes, for tests that try all of them.
type Listed struct {
	Pattern          string
	Writes, Chooses  bool
	Anybody, Viewers bool
	Most             int64
}

// Routes lists everything that the pages answer to.
func Routes() (out []Listed) {
	for _, rt := range (&server{}).routes() {
		out = append(out, Listed{rt.pattern, rt.effect == writing, rt.effect == choosing, rt.anybody, rt.needs() == "viewer", rt.most})
	}
	return out
}
