package store

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

// The child process of TestKill: its directory and the seed of its readings.
const (
	childDir  = "TAUTLOG_TEST_KILL_DIR"
	childSeed = "TAUTLOG_TEST_KILL_SEED"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		if err := appendForever(dir); err != nil {
			fmt.Println("failed", err)
			os.Exit(1)
		}
	}
	if fewerChecks != "" { // a flag on the command line still decides
		if err := flag.Set("rapid.checks", fewerChecks); err != nil {
			panic(err)
		}
	}
	code := m.Run()
	if err := goleak.Find(); code == 0 && err != nil {
		fmt.Println(err)
		code = 1
	}
	os.Exit(code)
}

// killRun is run number i of a seed, the same in the child and in the test.
func killRun(seed uint64, cell int64, i int) Run {
	rnd := rand.New(rand.NewPCG(seed, uint64(i)))
	raw := make([]int64, 20+rnd.IntN(200))
	for k := range raw {
		raw[k] = int64(rnd.NormFloat64() * 20)
	}
	return Run{Cell: cell, Start: morning + int64(i)*second + rnd.Int64N(1000), Step: 1e6 + rnd.Float64(), Raw: raw}
}

// appendForever appends runs and folds often, and says on standard output
// what is done, until it is killed.
func appendForever(dir string) error {
	var seed uint64
	if _, err := fmt.Sscan(os.Getenv(childSeed), &seed); err != nil {
		return err
	}
	s, err := Open(dir, Options{foldReadings: 600})
	if err != nil {
		return err
	}
	if len(s.Damage()) > 0 {
		return s.Damage()[0]
	}
	ctx := context.Background()
	c, err := s.SaveCell(ctx, Cell{Name: "a"})
	if err != nil {
		return err
	}
	next, err := killCount(s, c.ID)
	if err != nil {
		return err
	}
	for i := next; ; i++ {
		if err := s.Append(ctx, []Run{killRun(seed, c.ID, i)}); err != nil {
			return err
		}
		fmt.Println("stored", i)
		if i%3 == 2 {
			fmt.Println("folding", i)
			if _, err := s.Fold(ctx, c.ID); err != nil {
				return err
			}
			fmt.Println("folded", i)
			if err := keepKilled(ctx, s, i); err != nil {
				return err
			}
		}
	}
}

// keepKilled keeps and chooses a set that tells how many runs were stored.
func keepKilled(ctx context.Context, s *Store, i int) error {
	k, err := s.SaveSet(ctx, assumed("a", float64(i)))
	if err != nil {
		return err
	}
	if _, err := s.PlanWith(ctx, k.Name, k.Version); err != nil {
		return err
	}
	fmt.Println("kept", i)
	return nil
}

// checkKeptKilled: the sets are the versions from 1 on without a gap, as they
// were made, and what is planned with is no older than was said.
func checkKeptKilled(t *testing.T, s *Store, kept int) {
	t.Helper()
	sets, err := s.Sets(t.Context())
	require.NoError(t, err)
	for i, k := range sets {
		require.Equal(t, len(sets)-i, k.Version)
	}
	with, err := s.PlanningWith(t.Context())
	require.NoError(t, err)
	require.LessOrEqual(t, with.Version, len(sets))
	if kept > 0 {
		require.NotEmpty(t, sets)
		require.GreaterOrEqual(t, sets[0].Assumed[0].Multiplier, float64(kept))
		require.GreaterOrEqual(t, with.Assumed[0].Multiplier, float64(kept))
	}
}

// killCount is how many runs are stored: each begins in a second of its own.
func killCount(s *Store, cell int64) (int, error) {
	_, last, n, err := s.Span(context.Background(), cell)
	if n == 0 {
		return 0, err
	}
	return int((last-morning)/second) + 1, err
}

// TestKill kills a process that appends, folds and keeps sets at twenty random moments,
// every other one in the middle of folding. All that it said was stored must
// be there, exactly, and nothing that was not written.
func TestKill(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	if given := os.Getenv(childSeed); given != "" {
		_, err := fmt.Sscan(given, &seed)
		require.NoError(t, err)
	}
	t.Logf("repeat with %s=%d", childSeed, seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	stored, kept, inFold := 0, 0, 0
	rounds := 0
	for ; rounds < 20 || inFold == 0 && rounds < 100; rounds++ { // a busy machine kills late
		stop := "stored"
		if rounds%2 == 1 {
			stop = "folding"
		}
		if rounds%4 == 2 {
			stop = "folded" // the next that it does is to keep a set
		}
		acknowledged, sets, folding := killChild(t, dir, seed, stop, 1+rnd.IntN(8), time.Duration(rnd.Int64N(int64(4*time.Millisecond))))
		stored, kept = max(stored, acknowledged), max(kept, sets)
		if folding {
			inFold++
		}
		stored = checkKilled(t, dir, seed, stored, kept)
	}
	t.Logf("%d runs; %d of %d kills while folding; sets kept up to run %d", stored, inFold, rounds, kept)
	require.Positive(t, kept)
	require.Positive(t, inFold)
}

// killChild starts a child, waits for the given line to come a number of times and
// then for a moment, and kills it. It returns how many runs the child has
// said are stored, up to which of them it has kept sets, and whether it was
// folding.
func killChild(t *testing.T, dir string, seed uint64, word string, times int, wait time.Duration) (stored, kept int, folding bool) {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childDir+"="+dir, fmt.Sprintf("%s=%d", childSeed, seed))
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		said, number, _ := strings.Cut(lines.Text(), " ")
		require.NotEqual(t, "failed", said, number)
		if said == "stored" {
			_, err := fmt.Sscan(number, &stored)
			require.NoError(t, err)
			stored++
		}
		if said == "kept" {
			_, err := fmt.Sscan(number, &kept)
			require.NoError(t, err)
		}
		folding = said == "folding"
		if said == word {
			times--
		}
		if times == 0 {
			time.AfterFunc(wait, func() { _ = child.Process.Kill() })
		}
	}
	require.Error(t, child.Wait())
	return stored, kept, folding
}

// checkKilled opens what a killed child left and returns how many runs it
// holds, which may be one more than the child had time to say.
func checkKilled(t *testing.T, dir string, seed uint64, stored, kept int) int {
	t.Helper()
	s, err := Open(dir, Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.Integrity(t.Context()))
	checkKeptKilled(t, s, kept)
	cells, err := s.Cells(t.Context())
	require.NoError(t, err)
	require.Len(t, cells, 1)
	n, err := killCount(s, cells[0].ID)
	require.NoError(t, err)
	require.GreaterOrEqual(t, n, stored)
	require.LessOrEqual(t, n, stored+1)
	var want []reading
	for i := range n {
		want = append(want, readings([]Run{killRun(seed, cells[0].ID, i)})...)
	}
	same(t, want, readings(collect(t, s, cells[0].ID, 0, math.MaxInt64)))
	return n
}
