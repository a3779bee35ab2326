package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
)

// TestDemoOfAskedCells has the second cell of the demonstration answer only
// when it is asked: the daemon asks it and records what it says.
func TestDemoOfAskedCells(t *testing.T) {
	for _, how := range []string{"text", "modbus"} {
		t.Run(how, func(t *testing.T) {
			origin := strings.TrimSuffix(startDemo(t, "--asked", how), "/line")
			var told struct {
				Cells []struct {
					Name   string
					Status struct {
						Up      bool
						Problem string
						Asked   struct{ Requests, Missed int }
						Decode  struct{ Readings, Rejected int }
					}
				}
			}
			require.Eventually(t, func() bool {
				get(t, origin+"/api/cells", &told)
				return len(told.Cells) == 2 && told.Cells[1].Status.Decode.Readings > 200
			}, needs.Patience, 50*time.Millisecond)
			asked := told.Cells[1]
			assert.Equal(t, "River-2", asked.Name)
			assert.Empty(t, asked.Status.Problem)
			assert.Zero(t, asked.Status.Decode.Rejected)
			assert.GreaterOrEqual(t, asked.Status.Asked.Requests, asked.Status.Decode.Readings)
			assert.Zero(t, told.Cells[0].Status.Asked.Requests, "the other one sends by itself")
		})
	}
}
