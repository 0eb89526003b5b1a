package web

// Build says which program is running.
type Build struct {
	Version  string // of a release, such as 0.1.0; empty for any other build
	Revision string // the commit; empty when built outside of a repository
	Modified bool   // files differed from the commit's
	Go       string // the version of Go, such as go1.26.8
}
