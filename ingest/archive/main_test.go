//go:build unix

package archive_test

import (
	"os"
	"testing"

	"go.uber.org/goleak"

	"tautlog/ingest/archive/archivetest"
)

func TestMain(m *testing.M) {
	goleak.VerifyTestMain(m, goleak.Cleanup(func(code int) {
		archivetest.Stop()
		os.Exit(code)
	}))
}
