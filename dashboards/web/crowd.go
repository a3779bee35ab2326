package web

import (
	"net"
	"sync"
)

// crowd counts what others hold open of this machine, by the address of who
// does: no more than most of one address, and no more than all.
type crowd struct {
	most, all int

	mu    sync.Mutex
	there int
	by    map[string]int
}

func newCrowd(most, all int) *crowd {
	return &crowd{most: most, all: all, by: map[string]int{}}
}

// open counts one more of a client; false where that would be too many.
func (c *crowd) open(client string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.there >= c.all || c.by[client] >= c.most {
		return false
	}
	c.there++
	c.by[client]++
	return true
}

func (c *crowd) close(client string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.there--
	if c.by[client]--; c.by[client] == 0 {
		delete(c.by, client)
	}
}

// How many connections there may be from one other machine, and from all of
// them. Each takes memory before anybody has signed in, on a computer that has
// to go on recording. A browser holds six, and one more for each open stream.
const (
	connectionsOfOne = 64
	connectionsOfAll = 1000
)

// bounded accepts connections of other machines up to those numbers, and hangs
// up on more. Those of this machine are not counted: its pages can be opened
// whatever happens on the network.
type bounded struct {
	net.Listener
	others *crowd
}

func boundedTo(ln net.Listener) net.Listener {
	return bounded{ln, newCrowd(connectionsOfOne, connectionsOfAll)}
}

// Accept waits for the next connection that there is room for.
func (b bounded) Accept() (net.Conn, error) {
	for {
		conn, err := b.Listener.Accept()
		if err != nil {
			return nil, err
		}
		client, _, err := net.SplitHostPort(conn.RemoteAddr().String())
		if err != nil || loopbackName(client) {
			return conn, nil
		}
		if b.others.open(client) {
			return &counted{Conn: conn, gone: sync.OnceFunc(func() { b.others.close(client) })}, nil
		}
		_ = conn.Close() // too many: it has nothing to lose
	}
}

// counted is a connection that counts until it is closed.
type counted struct {
	net.Conn
	gone func()
}

// Close closes the connection.
func (c *counted) Close() error {
	c.gone()
	return c.Conn.Close()
}
