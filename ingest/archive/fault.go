package archive

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"regexp"
	"strings"
	"time"
	"unicode"

	influxhttp "github.com/influxdata/influxdb-client-go/v2/api/http"

	"tautlog/calc/words"
)

// Kind says what a fault means for what was to be pushed.
type Kind int

// The kinds of fault.
const (
	Away    Kind = iota // the server cannot be reached or cannot work: try again later
	Slow                // it did not answer in time: try again with less
	Large               // it was too much at once: try again with less
	Denied              // it does not let this program in: a person must do something
	Refused             // it does not take these points: others may go on
)

// Fault is why an archive did not do what it was asked.
type Fault struct {
	Kind  Kind
	After time.Duration // when the server wants to be asked again; 0: it did not say
	Says  string        // what, where and what to do
}

// Error is a few sentences for people.
func (f *Fault) Error() string { return f.Says }

// fault tells what went wrong.
func (s *Server) fault(err error) *Fault {
	answer, answered := errors.AsType[*influxhttp.Error](err)
	if !answered || answer.StatusCode == 0 {
		return s.unreached(err)
	}
	f := s.answered(answer.StatusCode, s.plain(answer.Message))
	f.After = time.Duration(min(answer.RetryAfter, 3600)) * time.Second
	return f
}

// unreached is a fault before the server answered.
func (s *Server) unreached(err error) *Fault {
	where, why := s.settings.URL, s.plain(err.Error())
	reason, isOp := errors.AsType[*net.OpError](err)
	if isOp {
		why = s.plain(reason.Error())
	}
	_, untrusted := errors.AsType[*tls.CertificateVerificationError](err)
	timeout, isNet := errors.AsType[net.Error](err)
	switch {
	case untrusted:
		return &Fault{Kind: Denied, Says: words.Say("archive.fault.untrusted", where, why)}
	case isOp && reason.Op == "dial":
	case errors.Is(err, context.DeadlineExceeded) || isNet && timeout.Timeout():
		return &Fault{Kind: Slow, Says: words.Say("archive.fault.slow", where)}
	}
	return &Fault{Kind: Away, Says: words.Say("archive.fault.away", where, why)}
}

// answered is a fault that the server itself told.
func (s *Server) answered(status int, why string) *Fault {
	where := s.settings.URL
	token := words.Say("archive.fault.put", s.settings.TokenFile)
	if s.settings.TokenFile == "" || s.settings.Token != "" {
		token = words.Say("archive.fault.give")
	}
	switch {
	case status == http.StatusUnauthorized:
		return &Fault{Kind: Denied, Says: words.Say("archive.fault.token", where, token)}
	case status == http.StatusForbidden && strings.Contains(why, "Flux"):
		return &Fault{Kind: Denied, Says: words.Say("archive.fault.flux", where, why)}
	case status == http.StatusForbidden:
		return &Fault{Kind: Denied, Says: words.Say("archive.fault.forbidden", where, s.settings.Bucket, why)}
	case status == http.StatusNotFound:
		return &Fault{Kind: Denied, Says: words.Say("archive.fault.bucket", where, s.settings.Bucket, why)}
	case status == http.StatusRequestEntityTooLarge:
		return &Fault{Kind: Large, Says: words.Say("archive.fault.large", where, why)}
	case status == http.StatusBadRequest || status == http.StatusUnprocessableEntity:
		return &Fault{Kind: Refused, Says: s.refusal(why)}
	case strings.Contains(why, "no space left on device"):
		return &Fault{Kind: Away, Says: words.Say("archive.fault.full", where)}
	case status == http.StatusTooManyRequests || status >= 500:
		return &Fault{Kind: Away, Says: words.Say("archive.fault.busy", where, status, why)}
	}
	return &Fault{Kind: Denied, Says: words.Say("archive.fault.foreign", where, status, why)}
}

// dropped is the part of a refusal that differs from batch to batch.
var dropped = regexp.MustCompile(`,? *dropped=\d+`)

// refusal says what the server has against some points. It must not hold what
// differs from point to point: stretches with the same refusal are joined.
func (s *Server) refusal(why string) string {
	why = strings.TrimSpace(dropped.ReplaceAllString(why, ""))
	where := s.settings.URL
	kept := words.Say("archive.fault.kept")
	switch {
	case strings.Contains(why, "field type conflict"):
		return words.Say("archive.fault.type", where, why, kept)
	case strings.Contains(why, "retention policy"):
		return words.Say("archive.fault.old", where, why, kept)
	case strings.Contains(why, "limit exceeded"):
		return words.Say("archive.fault.limit", where, why, kept)
	}
	return words.Say("archive.fault.refuses", where, why, kept)
}

// mostWhy bounds what is repeated of a server's words.
const mostWhy = 200

// plain makes one short line of what a server or the network said, without
// the token should it be in there.
func (s *Server) plain(why string) string {
	if s.secret != "" {
		why = strings.ReplaceAll(why, s.secret, hidden)
	}
	why = strings.Join(strings.FieldsFunc(why, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }), " ")
	if len(why) > mostWhy {
		why = strings.ToValidUTF8(why[:mostWhy], "") + " …"
	}
	return strings.TrimSuffix(why, ".")
}
