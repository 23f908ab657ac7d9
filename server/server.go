package server

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"runtime"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/valyala/fasthttp"

	"overhang/server/service"
	"overhang/views"
)

// Options are what a server may be told. The zero value is good for one that
// listens on loopback without TLS.
type Options struct {
	// HTTPS says that visitors reach the server through TLS, which somebody in
	// front of it ends. Cookies are then sent over TLS only.
	HTTPS bool
	// TrustedProxies are the networks of those in front of the server, whose
	// X-Forwarded-For header says where a request comes from.
	TrustedProxies []netip.Prefix
	// Deadline is how long a request may take, unless its route says otherwise;
	// 15 s when it is not set.
	Deadline time.Duration
	// Grace is how long requests may go on when the server stops; 20 s when it is
	// not set.
	Grace time.Duration
}

// Server answers requests over one service.
type Server struct {
	service  *service.Service
	renderer *views.Renderer
	options  Options
	routes   []Route
	app      *fiber.App
	hashing  chan struct{} // a place for each password that is looked at at once
}

// New makes a server. It fails when the route table has a fault.
func New(svc *service.Service, renderer *views.Renderer, options Options) (*Server, error) {
	return newServer(svc, renderer, options)
}

// newServer takes more routes than the table has, for tests.
func newServer(svc *service.Service, renderer *views.Renderer, options Options, more ...Route) (*Server, error) {
	if options.Deadline <= 0 {
		options.Deadline = 15 * time.Second
	}
	if options.Grace <= 0 {
		options.Grace = 20 * time.Second
	}
	// One password takes 19 MiB and a processor for a while. Those who sign in
	// take turns, so that many at once cannot use up the memory.
	s := &Server{service: svc, renderer: renderer, options: options, hashing: make(chan struct{}, max(2, runtime.GOMAXPROCS(0)))}
	var err error
	if s.routes, err = ordered(append(s.table(), more...)); err != nil {
		return nil, fmt.Errorf("reading the route table: %w", err)
	}
	s.app = fiber.New(fiber.Config{
		AppName:               "overhang",
		Immutable:             true, // texts of a request outlive it
		CaseSensitive:         true,
		DisableStartupMessage: true,
		ErrorHandler:          s.fail,
		BodyLimit:             smallBody, // larger where a route says so, see bodyLimit
		ReadTimeout:           30 * time.Second,
		WriteTimeout:          60 * time.Second,
		IdleTimeout:           90 * time.Second,
		ReadBufferSize:        16 << 10, // the request line and headers
	})
	s.app.Server().HeaderReceived = s.bodyLimit
	s.app.Use(s.around)
	for _, route := range s.routes {
		s.app.Add(route.Method, route.Path, s.handle(route))
		if route.Method == fiber.MethodGet {
			s.app.Add(fiber.MethodHead, route.Path, s.handle(route))
		}
	}
	return s, nil
}

// Run answers requests on a listener until ctx is done, then takes no more and
// lets those that are being answered finish, within Options.Grace. It closes the
// listener.
func (s *Server) Run(ctx context.Context, listener net.Listener) error {
	served := make(chan error, 1)
	go func() { served <- s.app.Listener(lingering{listener}) }()
	select {
	case err := <-served:
		if err == nil {
			err = errors.New("the listener was closed")
		}
		return fmt.Errorf("answering requests on %s: %w", listener.Addr(), err)
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.Background(), s.options.Grace)
	defer cancel()
	if err := s.app.ShutdownWithContext(grace); err != nil {
		return fmt.Errorf("stopping: requests were still being answered after %s: %w", s.options.Grace, err)
	}
	if err := <-served; err != nil {
		return fmt.Errorf("stopping: %w", err)
	}
	return nil
}

// bodyLimit says, before a body is read, how large it may be on its route and
// how long it may take to arrive.
func (s *Server) bodyLimit(header *fasthttp.RequestHeader) fasthttp.RequestConfig {
	uri := fasthttp.AcquireURI()
	defer fasthttp.ReleaseURI(uri)
	if err := uri.Parse(header.Host(), header.RequestURI()); err != nil {
		return fasthttp.RequestConfig{}
	}
	method, path := string(header.Method()), string(uri.Path())
	for _, route := range s.routes {
		if route.BodyLimit > 0 && route.Method == method &&
			fiber.RoutePatternMatch(path, route.Path, fiber.Config{CaseSensitive: true}) {
			return fasthttp.RequestConfig{MaxRequestBodySize: route.BodyLimit, ReadTimeout: 5 * time.Minute}
		}
	}
	return fasthttp.RequestConfig{}
}
