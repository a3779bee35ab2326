package needs

import (
	"fmt"
	"math/rand/v2"
	"net"
	"testing"

	"github.com/stretchr/testify/require"
)

// Address is one of this machine on which nobody listens, for a server that goes
// away and comes back there. The system gives such a port to nobody by itself, as
// it does with those from 32768 on (ip_local_port_range in ip(7)): nobody else has
// it when the server comes back.
func Address(t testing.TB) string {
	t.Helper()
	for range 100 {
		address := fmt.Sprintf("127.0.0.1:%d", 20_000+rand.IntN(12_000))
		if l, err := net.Listen("tcp", address); err == nil {
			require.NoError(t, l.Close())
			return address
		}
	}
	require.Fail(t, "this machine has no free port")
	return ""
}
