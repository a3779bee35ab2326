package archive

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/http"
	"strings"
	"time"

	influxdb2 "github.com/influxdata/influxdb-client-go/v2"
	"github.com/influxdata/influxdb-client-go/v2/api"

	"tautlog/calc/words"
)

// Server is a connection to an archive. It may be used from any goroutine.
type Server struct {
	settings  Settings
	secret    string
	patience  time.Duration
	transport *http.Transport
	write     api.WriteAPIBlocking
	query     api.QueryAPI
}

// Patience of a connection. A batch of lines that takes longer than
// answerWithin is sent again in smaller ones.
const (
	dialWithin   = 10 * time.Second
	answerWithin = 30 * time.Second
)

// Connect prepares to speak to an archive. It does not speak to it yet; its
// errors are those of the settings.
func Connect(s Settings) (*Server, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	s.URL = strings.TrimRight(s.URL, "/")
	token, err := s.token()
	if err != nil {
		return nil, err
	}
	trusted, err := s.trusted()
	if err != nil {
		return nil, err
	}
	transport := &http.Transport{
		Proxy:               http.ProxyFromEnvironment,
		DialContext:         (&net.Dialer{Timeout: dialWithin}).DialContext,
		TLSClientConfig:     trusted,
		TLSHandshakeTimeout: dialWithin,
		IdleConnTimeout:     time.Minute,
		ForceAttemptHTTP2:   true,
	}
	o := influxdb2.DefaultOptions().SetUseGZip(true).SetLogLevel(0).SetApplicationName("tautlog").
		SetHTTPClient(&http.Client{Transport: transport, CheckRedirect: stay})
	client := influxdb2.NewClientWithOptions(s.URL, token, o)
	return &Server{settings: s, secret: token, patience: answerWithin, transport: transport,
		write: client.WriteAPIBlocking(s.Org, s.Bucket), query: client.QueryAPI(s.Org)}, nil
}

// stay follows no redirection: the token is for this server alone.
func stay(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

func (s Settings) trusted() (*tls.Config, error) {
	own, err := s.certificates()
	if err != nil || own == nil {
		return &tls.Config{MinVersion: tls.VersionTLS12}, err
	}
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if !pool.AppendCertsFromPEM(own) {
		return nil, words.Error("archive.error.pem", s.CAFile)
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: pool}, nil
}

// Close ends the connections.
func (s *Server) Close() { s.transport.CloseIdleConnections() }

// Address names the archive; see Settings.Address.
func (s *Server) Address() string { return s.settings.Address() }

// send writes lines of line protocol and returns when the server has taken
// them. Any error is a *Fault, or that of ctx.
func (s *Server) send(ctx context.Context, lines []byte) error {
	within, cancel := context.WithTimeout(ctx, s.patience)
	defer cancel()
	err := s.write.WriteRecord(within, string(lines))
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	f := s.fault(err)
	if f.Kind != Refused {
		f.Says = words.Say("archive.goeson", f.Says)
	}
	return f
}
