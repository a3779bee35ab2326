package web

import (
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// hostOf is the host of a Host header: without its port and brackets, in small
// letters, without the dot that a full name may end with.
func hostOf(header string) string {
	if h, _, err := net.SplitHostPort(header); err == nil {
		header = h
	}
	return strings.TrimSuffix(strings.ToLower(strings.Trim(header, "[]")), ".")
}

// ours says whether host is a name of this machine: to itself or, where the
// pages are opened to the network, an address of it there. A page of another
// site whose name was made to point here is asked for under that name, and
// refused.
func (s *server) ours(header string) bool {
	host := hostOf(header)
	if loopbackName(host) || slices.Contains(s.Hosts, host) {
		return true
	}
	if !s.Network.IsValid() {
		return false
	}
	if addr, err := netip.ParseAddr(host); err == nil {
		return slices.Contains(s.addresses(), addr.Unmap())
	}
	name, err := os.Hostname()
	name = strings.ToLower(name)
	return err == nil && (host == name || host == name+".local")
}

// addresses are those under which another machine may find the pages.
func (s *server) addresses() []netip.Addr {
	if !s.Network.IsValid() {
		return nil
	}
	if a := s.Network.Addr(); !a.IsUnspecified() {
		return []netip.Addr{a.Unmap()}
	}
	return s.local.get(s.Now())
}

// links are the addresses of the pages as a phone opens them.
func (s *server) links() []string {
	var out []string
	for _, a := range s.addresses() {
		out = append(out, s.scheme()+"://"+net.JoinHostPort(a.String(), strconv.Itoa(int(s.Network.Port()))))
	}
	return out
}

func (s *server) scheme() string {
	if s.Encrypted {
		return "https"
	}
	return "http"
}

// localAddresses are those of this machine on its networks. They are looked up
// again now and then: a hotspot may be switched on later.
type localAddresses struct {
	mu   sync.Mutex
	at   time.Time
	have []netip.Addr
}

func (l *localAddresses) get(now time.Time) []netip.Addr {
	l.mu.Lock()
	defer l.mu.Unlock()
	if age := now.Sub(l.at); l.have != nil && age >= 0 && age < 5*time.Second {
		return l.have
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return l.have // what was known last is the best guess
	}
	l.at, l.have = now, []netip.Addr{}
	for _, a := range all {
		p, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		if ip := p.Addr().Unmap(); ip.IsGlobalUnicast() {
			l.have = append(l.have, ip)
		}
	}
	// The short ones first: those that a person can read out.
	slices.SortStableFunc(l.have, func(a, b netip.Addr) int { return a.BitLen() - b.BitLen() })
	return l.have
}
