//go:build unix

// Package archivetest runs a real InfluxDB server for tests. It is for tests
// only: nothing that the program runs imports it.
//
// The server is version 1.8.10, the last that is plain Go:
//
//	go install github.com/influxdata/influxdb/cmd/influxd@v1.8.10
//
// It listens on this machine only, on a port of its own, keeps its data in a
// temporary directory, and asks for a password.
package archivetest

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"tautlog/ingest/needs"

	"github.com/stretchr/testify/require"
)

// User and Password are those of the server's administrator.
const (
	User     = "keeper"
	Password = "moss-under-9-stones"
)

// Token is what the server takes for a token.
const Token = User + ":" + Password

// Options are settings of a server that a test may want to be tight.
type Options struct {
	Dir       string // where it keeps its data; a temporary directory when empty
	TagValues int    // most values of one tag; 0: no bound. Only the index in memory heeds it
}

// Server is one server.
type Server struct {
	URL string

	dir, program string
	process      *exec.Cmd
	hold         io.Closer // while it is open the process lives
	pid          int
	databases    atomic.Int64
}

// client keeps no connection, so that nothing of it outlives a test.
var client = http.Client{Transport: &http.Transport{DisableKeepAlives: true}}

var (
	sharing sync.Mutex
	shared  *Server
)

// Shared gives the one server that the tests of a package use together, each
// with databases of its own. It runs until Stop.
func Shared(t testing.TB) *Server {
	t.Helper()
	sharing.Lock()
	defer sharing.Unlock()
	if shared == nil {
		dir, err := os.MkdirTemp("", "tautlog-influxd-*")
		require.NoError(t, err)
		shared = start(t, Options{Dir: dir})
	}
	return shared
}

// Stop ends the shared server, if it runs. A package that uses it calls Stop
// when its tests are done.
func Stop() {
	sharing.Lock()
	defer sharing.Unlock()
	if shared == nil {
		return
	}
	shared.Kill()
	_ = os.RemoveAll(shared.dir)
	shared = nil
}

// Start runs a server of the test's own until the test ends.
func Start(t testing.TB, o Options) *Server {
	t.Helper()
	if o.Dir == "" {
		o.Dir = t.TempDir()
	}
	s := start(t, o)
	t.Cleanup(s.Kill)
	return s
}

func start(t testing.TB, o Options) *Server {
	t.Helper()
	program := find()
	if program == "" {
		needs.Missing(t, "no InfluxDB server: go install github.com/influxdata/influxdb/cmd/influxd@v1.8.10, or set TAUTLOG_INFLUXD to its path")
	}
	s := &Server{dir: o.Dir, program: program}
	address := needs.Address(t) // which it keeps when it was killed
	s.URL = "http://" + address
	require.NoError(t, os.WriteFile(s.path("influxd.conf"), []byte(config(o, address)), 0o600))
	s.Run(t)
	s.Do(t, "", "CREATE USER "+User+" WITH PASSWORD '"+Password+"' WITH ALL PRIVILEGES")
	return s
}

func find() string {
	if p := os.Getenv("TAUTLOG_INFLUXD"); p != "" {
		return p
	}
	if p, err := exec.LookPath("influxd"); err == nil {
		return p
	}
	out, err := exec.Command("go", "env", "GOBIN", "GOPATH").Output()
	if err != nil {
		return ""
	}
	lines := strings.Split(string(out), "\n")
	for _, p := range []string{filepath.Join(lines[0], "influxd"), filepath.Join(lines[1], "bin", "influxd")} {
		if _, err := os.Stat(p); err == nil && filepath.IsAbs(p) {
			return p
		}
	}
	return ""
}

func config(o Options, address string) string {
	index := "tsi1"
	if o.TagValues > 0 {
		index = "inmem"
	}
	return fmt.Sprintf(`reporting-disabled = true
bind-address = "127.0.0.1:0"
[meta]
  dir = %q
[data]
  dir = %q
  wal-dir = %q
  index-version = %q
  query-log-enabled = false
  max-values-per-tag = %d
[monitor]
  store-enabled = false
[subscriber]
  enabled = false
[continuous_queries]
  enabled = false
[http]
  bind-address = %q
  auth-enabled = true
  flux-enabled = true
  log-enabled = false
`, filepath.Join(o.Dir, "meta"), filepath.Join(o.Dir, "data"), filepath.Join(o.Dir, "wal"), index, o.TagValues, address)
}

func (s *Server) path(name string) string { return filepath.Join(s.dir, name) }

// runner runs the server as its child, prints its number, and kills it when
// standard input ends: the server does not outlive the tests, however they
// end.
const runner = `"$0" -config "$1" </dev/null >"$2" 2>&1 & echo $!; cat >/dev/null; kill -9 $! 2>/dev/null; wait`

// Run starts the server again after Kill, on the same port and data, and
// waits until it answers.
func (s *Server) Run(t testing.TB) {
	t.Helper()
	s.process = exec.Command("sh", "-c", runner, s.program, s.path("influxd.conf"), s.path("influxd.log"))
	in, err := s.process.StdinPipe()
	require.NoError(t, err)
	out, err := s.process.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, s.process.Start())
	s.hold = in
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	s.pid, err = strconv.Atoi(strings.TrimSpace(line))
	require.NoError(t, err)
	require.Eventually(t, s.answers, needs.Patience, 20*time.Millisecond, "the InfluxDB server does not answer: %s", s.log())
}

func (s *Server) answers() bool {
	r, err := client.Get(s.URL + "/ping")
	if err != nil {
		return false
	}
	defer r.Body.Close()
	return r.StatusCode == http.StatusNoContent
}

func (s *Server) log() string {
	b, _ := os.ReadFile(s.path("influxd.log"))
	return string(b[max(0, len(b)-2000):])
}

// Kill ends the server at once, as a power cut does (SIGKILL).
func (s *Server) Kill() {
	if s.process == nil {
		return
	}
	_ = s.hold.Close()
	_ = s.process.Wait()
	s.process = nil
}

// Freeze stops the server without closing its connections; Thaw lets it go
// on.
func (s *Server) Freeze() { _ = syscall.Kill(s.pid, syscall.SIGSTOP) }

// Thaw lets a frozen server go on.
func (s *Server) Thaw() { _ = syscall.Kill(s.pid, syscall.SIGCONT) }

// Limit starts a server of the test's own again with another bound of Options.
func (s *Server) Limit(t testing.TB, tagValues int) {
	t.Helper()
	s.Kill()
	address := strings.TrimPrefix(s.URL, "http://")
	require.NoError(t, os.WriteFile(s.path("influxd.conf"), []byte(config(Options{Dir: s.dir, TagValues: tagValues}, address)), 0o600))
	s.Run(t)
}

// Database makes an empty database and gives the name of its bucket.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("club%d", s.databases.Add(1))
	s.Do(t, "", "CREATE DATABASE "+name)
	return name + "/autogen"
}

// Point writes one line of line protocol past the program.
func (s *Server) Point(t testing.TB, bucket, line string) {
	t.Helper()
	database, _, _ := strings.Cut(bucket, "/")
	s.send(t, "/write?db="+url.QueryEscape(database), line)
}

// Series is one series of an InfluxQL answer. Times are ns UTC.
type Series struct {
	Name    string
	Tags    map[string]string
	Columns []string
	Values  [][]any // numbers are json.Number
}

// Query asks in InfluxQL, past the program.
func (s *Server) Query(t testing.TB, bucket, question string) []Series {
	t.Helper()
	database, _, _ := strings.Cut(bucket, "/")
	body := s.send(t, "/query?epoch=ns&db="+url.QueryEscape(database)+"&q="+url.QueryEscape(question), "")
	var answer struct {
		Results []struct {
			Series []Series
			Error  string
		}
	}
	d := json.NewDecoder(strings.NewReader(body))
	d.UseNumber()
	require.NoError(t, d.Decode(&answer), body)
	require.Len(t, answer.Results, 1, body)
	require.Empty(t, answer.Results[0].Error, question)
	return answer.Results[0].Series
}

// Do runs a command of InfluxQL.
func (s *Server) Do(t testing.TB, bucket, command string) {
	t.Helper()
	database, _, _ := strings.Cut(bucket, "/")
	body := s.send(t, "/query?db="+url.QueryEscape(database)+"&q="+url.QueryEscape(command), "")
	require.NotContains(t, body, "error", command)
}

// Count is how many values of a field a measurement has.
func (s *Server) Count(t testing.TB, bucket, measurement, field string) int {
	t.Helper()
	series := s.Query(t, bucket, fmt.Sprintf("SELECT count(%q) FROM %q", field, measurement))
	if len(series) == 0 {
		return 0
	}
	n, err := series[0].Values[0][1].(json.Number).Int64()
	require.NoError(t, err)
	return int(n)
}

func (s *Server) send(t testing.TB, path, body string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), needs.Patience)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, s.URL+path, strings.NewReader(body))
	require.NoError(t, err)
	r.SetBasicAuth(User, Password)
	res, err := client.Do(r)
	require.NoError(t, err)
	defer res.Body.Close()
	said, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.Less(t, res.StatusCode, 300, "%s: %s", path, said)
	return string(said)
}
