package wire

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"tautlog/ingest/needs"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// printFrames lets the sender under testdata/ encode the frames that it reads
// as JSON, one a line.
const printFrames = `
import json, sys
sys.path.insert(0, "../../testdata/sender")
from send_frames import frame
for line in sys.stdin:
    f = json.loads(line)
    print(frame(f["Seq"], f["Tick"], f["Interval"], f["Readings"]).hex())
`

// AppendFrame writes the very bytes that an encoder in another language does.
func TestFramesOfAnotherEncoder(t *testing.T) {
	t.Parallel()
	python := needs.Python(t, "python3")
	source := rand.New(rand.NewPCG(8, 9))
	var frames []Frame
	var input bytes.Buffer
	for n := range 256 { // every count, so also every full last block
		f := Frame{Seq: uint16(source.Uint32()), Tick: source.Uint32(), Interval: uint16(source.Uint32()), Readings: []int32{}}
		for range n {
			f.Readings = append(f.Readings, int32(source.Uint32())>>(source.Uint32()%32))
		}
		frames = append(frames, f)
		require.NoError(t, json.NewEncoder(&input).Encode(f))
	}
	c := exec.Command(python, "-B", "-c", printFrames)
	c.Stdin = &input
	out, err := c.Output()
	require.NoError(t, err)
	printed := strings.Fields(string(out))
	require.Len(t, printed, len(frames))
	for i, f := range frames {
		assert.Equal(t, printed[i], hex.EncodeToString(AppendFrame(nil, f)), "%d readings", len(f.Readings))
	}
}
