package main

import (
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestVersion reads what the go command wrote into programs (go version -m of
// Go 1.26, as it printed it): built in a checkout, in one with changes, in one of
// a release, without the commit, and fetched as a module.
func TestVersion(t *testing.T) {
	const commit = "build\tvcs=git\nbuild\tvcs.revision=bd2cd97d771ad8d5a7d305ea25370d3e81f1019b\nbuild\tvcs.time=2026-11-30T21:23:52Z\n"
	for name, c := range map[string]struct{ built, want string }{
		"a checkout":         {"mod\ttautlog\tv0.0.0-20261130212352-bd2cd97d771a\t\n" + commit + "build\tvcs.modified=false\n", "commit bd2cd97d771a of 30 November 2026"},
		"with changes":       {"mod\ttautlog\tv0.0.0-20261130212352-bd2cd97d771a+dirty\t\n" + commit + "build\tvcs.modified=true\n", "commit bd2cd97d771a of 30 November 2026, with changes"},
		"a release":          {"mod\ttautlog\tv1.2.0\t\n" + commit + "build\tvcs.modified=false\n", "v1.2.0"},
		"a changed release":  {"mod\ttautlog\tv1.2.0+dirty\t\n" + commit + "build\tvcs.modified=true\n", "v1.2.0, with changes"},
		"after a release":    {"mod\ttautlog\tv1.2.1-0.20261130212352-bd2cd97d771a\t\n" + commit + "build\tvcs.modified=false\n", "commit bd2cd97d771a of 30 November 2026"},
		"without the commit": {"mod\ttautlog\t(devel)\t\n", ""},
		"fetched":            {"mod\ttautlog\tv1.2.0\th1:abc=\n", "v1.2.0"},
	} {
		t.Run(name, func(t *testing.T) {
			info, err := debug.ParseBuildInfo("go\tgo1.26\npath\ttautlog/cmd/tautlog\n" + c.built)
			require.NoError(t, err)
			assert.Equal(t, c.want, versionIn(info))
		})
	}
}

// TestVersionFlag says the same as a report does.
func TestVersionFlag(t *testing.T) {
	var out strings.Builder
	require.Zero(t, run(t.Context(), []string{"--version"}, nil, &out, &out))
	assert.Contains(t, []string{"tautlog of unknown version\n", "tautlog " + version() + "\n"}, out.String())
}
