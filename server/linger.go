package server

import (
	"io"
	"net"
	"time"
)

// How much of a body that was refused is still read, and for how long.
const (
	lingerBytes = 64 << 20
	lingerTime  = 5 * time.Second
)

// lingering is a listener whose connections can close without losing what was
// said last. A body that is too large is refused before it is read; closing the
// connection at once would reset it while the browser still sends, and the
// browser would show an error of its own and never the page that says why
// (RFC 9112, section 9.6).
type lingering struct{ net.Listener }

func (l lingering) Accept() (net.Conn, error) {
	conn, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return &lingeringConn{Conn: conn}, nil
}

type lingeringConn struct {
	net.Conn
	linger bool // set by the request that is answered on it
}

// Close says that nothing more is to come, and reads what still arrives.
func (c *lingeringConn) Close() error {
	if half, is := c.Conn.(interface{ CloseWrite() error }); is && c.linger && half.CloseWrite() == nil {
		if c.SetReadDeadline(time.Now().Add(lingerTime)) == nil {
			_, _ = io.CopyN(io.Discard, c.Conn, lingerBytes) // what it holds, and how it ends, are of no interest
		}
	}
	return c.Conn.Close()
}
