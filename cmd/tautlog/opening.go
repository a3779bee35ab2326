package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os/user"
	"strings"

	"github.com/spf13/cobra"
)

// opening is how the pages are opened to the local network.
type opening struct {
	certFile, keyFile string
	hosts             []string
	network           netip.AddrPort   // zero: for this machine only
	cert              *tls.Certificate // nil: not encrypted
}

func (o *opening) flags(c *cobra.Command) {
	c.Flags().StringVar(&o.certFile, "tls-cert", "", "file with the certificate (PEM) that encrypts the pages; with --tls-key")
	c.Flags().StringVar(&o.keyFile, "tls-key", "", "file with the certificate's private key (PEM)")
	c.Flags().StringArrayVar(&o.hosts, "host", nil, "a further name under which the pages may be asked for, such as river-bar.local; may be repeated")
}

// check reads the certificate and the names.
func (o *opening) check() error {
	for i, h := range o.hosts {
		o.hosts[i] = strings.ToLower(strings.TrimSuffix(h, "."))
		if h == "" || strings.ContainsAny(h, "/:@ *") {
			return usagef("--host %q: write a name alone, without http:// and port, for example river-bar.local", h)
		}
	}
	if (o.certFile == "") != (o.keyFile == "") {
		return usagef("--tls-cert and --tls-key go together: give both or neither")
	}
	if o.certFile == "" {
		return nil
	}
	cert, err := tls.LoadX509KeyPair(o.certFile, o.keyFile)
	if err != nil {
		return fmt.Errorf("the certificate %s with the key %s cannot be used: %w; give both as PEM files that belong together", o.certFile, o.keyFile, err)
	}
	o.cert = &cert
	return nil
}

func (o *opening) scheme() string {
	if o.cert != nil {
		return "https"
	}
	return "http"
}

// here is the address at which this machine itself finds the pages.
func (o *opening) here(at net.Addr) string {
	a, err := netip.ParseAddrPort(at.String())
	if err == nil && a.Addr().IsUnspecified() {
		a = netip.AddrPortFrom(netip.AddrFrom4([4]byte{127, 0, 0, 1}), a.Port())
		return fmt.Sprintf("%s://%s/", o.scheme(), a)
	}
	return fmt.Sprintf("%s://%s/", o.scheme(), at)
}

// says tells who else may open the pages.
func (o *opening) says() string {
	if !o.network.IsValid() {
		return ""
	}
	if o.cert != nil {
		return "They are open to the local network, encrypted; from there a sign-in is needed. The page \"People and phones\" has the addresses.\n"
	}
	return "They are open to the local network, NOT encrypted; from there a sign-in is needed. The page \"People and phones\" has the addresses.\n"
}

// listenPages opens addr for the pages; where it is taken and another will do,
// any free port of this machine. Only with an opening may it be an address of
// the network.
func listenPages(addr string, another bool, to *opening) (net.Listener, error) {
	l, err := listenAt(addr, to)
	if _, wrong := errors.AsType[usageError](err); err == nil || wrong || !another {
		return l, err
	}
	return listenAt("127.0.0.1:0", nil)
}

func listenAt(addr string, to *opening) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, usagef("--listen %q: write ADDRESS:PORT, for example 127.0.0.1:8480", addr)
	}
	ip, err := netip.ParseAddr(host)
	if host == "localhost" {
		ip, err = netip.AddrFrom4([4]byte{127, 0, 0, 1}), nil
	}
	if err != nil {
		return nil, usagef("--listen %q: write an address in digits, 127.0.0.1 for this machine or 0.0.0.0 for the local network", addr)
	}
	if !ip.IsLoopback() && to == nil {
		return nil, usagef("--listen %q: this is shown on this machine only: use 127.0.0.1 or [::1]", addr)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("the pages cannot be shown at %s: %w; choose another port with --listen", addr, err)
	}
	if !ip.IsLoopback() {
		bound, err := netip.ParseAddrPort(l.Addr().String())
		if err != nil {
			return nil, errors.Join(fmt.Errorf("the pages cannot be shown at %s: %w", addr, err), l.Close())
		}
		to.network = bound
	}
	return l, nil
}

// userHere is the name of whoever runs the program, for the journal; empty
// where the system does not say, or says what the program calls itself.
func userHere() string {
	u, err := user.Current()
	if err != nil || strings.EqualFold(u.Username, "tautlog") {
		return ""
	}
	if u.Name != "" {
		return u.Name
	}
	return u.Username
}
