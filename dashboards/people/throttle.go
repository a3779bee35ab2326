package people

import (
	"net/netip"
	"strings"
	"sync"
	"time"
)

// How many attempts fail before the next one has to wait: by name so that a
// password is not guessed from many machines, by address so that names are not
// tried out from one.
const (
	triesOfName    = 5
	triesOfAddress = 20
	forgottenAfter = 10 * time.Minute
	mostKeys       = 10_000 // of the table; beyond, everybody waits
)

// throttle counts attempts to sign in. An attempt counts before it is looked
// at, so that many at once do not slip through, and is taken back when it
// succeeds.
type throttle struct {
	mu    sync.Mutex
	tries map[string][]time.Time
}

// begin counts an attempt. It gives how long to wait where there were too many.
func (t *throttle) begin(now time.Time, name, address string) (wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.tries == nil {
		t.tries = map[string][]time.Time{}
	}
	t.forget(now)
	limits := t.limits(name, address)
	for key, most := range limits {
		if at := t.tries[key]; len(at) >= most {
			wait = max(wait, at[len(at)-most].Add(forgottenAfter).Sub(now))
		}
	}
	if wait == 0 && len(t.tries) > mostKeys {
		wait = forgottenAfter
	}
	if wait > 0 {
		return wait
	}
	for key := range limits {
		t.tries[key] = append(t.tries[key], now)
	}
	return 0
}

func (t *throttle) limits(name, address string) map[string]int {
	out := map[string]int{addressKey(address): triesOfAddress}
	if name != "" {
		out[nameKey(name)] = triesOfName
	}
	return out
}

func nameKey(name string) string { return "name " + strings.ToLower(name) }

func addressKey(address string) string { return "address " + network(address) }

// succeed takes back the attempt of a name and an address that succeeded, and
// what the name tried before. What else the address tried still counts: who has
// a name of their own does not get to guess more of others'.
func (t *throttle) succeed(name, address string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.tries, nameKey(name))
	key := addressKey(address)
	if at := t.tries[key]; len(at) > 0 {
		t.tries[key] = at[:len(at)-1]
	}
}

func (t *throttle) forget(now time.Time) {
	for key, at := range t.tries {
		for len(at) > 0 && now.Sub(at[0]) >= forgottenAfter {
			at = at[1:]
		}
		if len(at) == 0 {
			delete(t.tries, key)
		} else {
			t.tries[key] = at
		}
	}
}

// network is what counts as one address: of IPv6 the 64 bits that a machine
// cannot choose.
func network(address string) string {
	ip, err := netip.ParseAddr(address)
	if err != nil || ip.Unmap().Is4() {
		return address
	}
	p, _ := ip.WithZone("").Prefix(64) // 64 is a length that every IPv6 address has
	return p.String()
}
