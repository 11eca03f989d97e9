package matrixtest

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"sync"
	"testing"
)

// Fate is what becomes of a request.
type Fate int

// The fates.
const (
	Pass   Fate = iota
	Lost        // the server gets it, and its answer is lost
	Hold        // the server gets it, and its answer is held back until the proxy ends
	Refuse      // 429, with a word on how long to wait
	Cut         // the connection breaks before the server gets it
	Late        // the server gets it when Release says so, whether anybody waits or not
)

// Proxy stands between a client and the homeserver, and can be told to disturb
// them.
type Proxy struct {
	URL string

	mu    sync.Mutex
	judge func(r *http.Request) Fate
	after func(r *http.Request) // the client does not know yet what has happened
	over  chan struct{}
	late  chan struct{} // closed when what is late goes on
	left  sync.WaitGroup
}

// Proxy makes one that ends with the test.
func (s *Server) Proxy(t testing.TB) *Proxy {
	t.Helper()
	target, err := url.Parse(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	p := &Proxy{over: make(chan struct{}), late: make(chan struct{})}
	pass := httputil.NewSingleHostReverseProxy(target)
	pass.ErrorHandler = func(w http.ResponseWriter, _ *http.Request, _ error) { panic(http.ErrAbortHandler) } // as if it was the server
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { p.serve(pass, w, r) }))
	t.Cleanup(func() {
		close(p.over)
		server.CloseClientConnections()
		server.Close()
	})
	p.URL = server.URL
	return p
}

// Judge has f decide about each request from now on; nil lets all pass. after,
// if there is one, is called once the server has answered one that is Lost or
// Hold, and once one that is Late has come.
func (p *Proxy) Judge(f func(r *http.Request) Fate, after func(r *http.Request)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.judge, p.after = f, after
}

// Release passes on what is Late, and waits until the server has answered it.
func (p *Proxy) Release() {
	close(p.late)
	p.left.Wait()
}

// passLate passes a request on when it is released. Its client may be gone by then.
func (p *Proxy) passLate(pass http.Handler, r *http.Request, here func(*http.Request)) {
	p.left.Add(1)
	defer p.left.Done()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	r = r.Clone(context.WithoutCancel(r.Context()))
	r.Body = io.NopCloser(bytes.NewReader(body))
	if here != nil {
		here(r)
	}
	select {
	case <-p.late:
		pass.ServeHTTP(httptest.NewRecorder(), r)
	case <-p.over:
	}
}

func (p *Proxy) serve(pass http.Handler, w http.ResponseWriter, r *http.Request) {
	p.mu.Lock()
	judge, after := p.judge, p.after
	p.mu.Unlock()
	fate := Pass
	if judge != nil {
		fate = judge(r)
	}
	switch fate {
	case Refuse:
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Retry-After", "7")
		w.WriteHeader(http.StatusTooManyRequests)
		_, _ = w.Write([]byte(`{"errcode":"M_LIMIT_EXCEEDED","error":"Too many requests","retry_after_ms":7000}`))
	case Cut:
		panic(http.ErrAbortHandler)
	case Late:
		p.passLate(pass, r, after)
		panic(http.ErrAbortHandler)
	case Lost, Hold:
		pass.ServeHTTP(httptest.NewRecorder(), r)
		if after != nil {
			after(r)
		}
		if fate == Hold {
			<-p.over
		}
		panic(http.ErrAbortHandler)
	default:
		pass.ServeHTTP(w, r)
	}
}
