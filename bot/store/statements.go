package store

import (
	"context"
	"database/sql"
	"sync"
)

// statements reads from a pool by statements that each connection parses once:
// SQLite takes longer to parse most of ours than to run them. PostgreSQL's driver
// does the same by itself. What has begun is read to its end, which is near: to
// watch a context takes two or three goroutines for each question.
type statements struct {
	*sql.DB
	mu    sync.RWMutex
	known map[string]*sql.Stmt
}

// mostStatements bounds how many are kept (our own bound). The store has fewer; what comes after
// them is parsed each time.
const mostStatements = 256

func newStatements(pool *sql.DB) *statements {
	return &statements{DB: pool, known: map[string]*sql.Stmt{}}
}

// QueryContext implements queryer.
func (s *statements) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if st := s.of(ctx, query); st != nil && ctx.Err() == nil {
		return st.QueryContext(context.WithoutCancel(ctx), args...)
	}
	return s.DB.QueryContext(ctx, query, args...)
}

// QueryRowContext implements queryer.
func (s *statements) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	if st := s.of(ctx, query); st != nil && ctx.Err() == nil {
		return st.QueryRowContext(context.WithoutCancel(ctx), args...)
	}
	return s.DB.QueryRowContext(ctx, query, args...)
}

// of is the statement of a query. It is nil when there are too many, and when the
// query cannot be parsed: whoever asks in another way is told why.
func (s *statements) of(ctx context.Context, query string) *sql.Stmt {
	s.mu.RLock()
	st, n := s.known[query], len(s.known)
	s.mu.RUnlock()
	if st != nil || n >= mostStatements {
		return st
	}
	st, err := s.DB.PrepareContext(ctx, query) // unlocked, since it may wait for a connection
	if err != nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if other := s.known[query]; other != nil {
		_ = st.Close() // somebody else was as quick
		return other
	}
	s.known[query] = st
	return st
}

// has is the statement of a query that is kept, nil for none.
func (s *statements) has(query string) *sql.Stmt {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.known[query]
}

// parsedTx is a transaction of the one connection that writes, with the statements
// that those before it used. What it is the first to use is parsed again for the
// next, when it is over: while it lasts there is no connection to do so.
type parsedTx struct {
	*sql.Tx
	known *statements
	first []string
}

// ExecContext implements queryer.
func (p *parsedTx) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	if st := p.of(ctx, query); st != nil {
		return st.ExecContext(context.WithoutCancel(ctx), args...)
	}
	return p.Tx.ExecContext(ctx, query, args...)
}

// QueryContext implements queryer.
func (p *parsedTx) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if st := p.of(ctx, query); st != nil {
		return st.QueryContext(context.WithoutCancel(ctx), args...)
	}
	return p.Tx.QueryContext(ctx, query, args...)
}

// QueryRowContext implements queryer.
func (p *parsedTx) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	if st := p.of(ctx, query); st != nil {
		return st.QueryRowContext(context.WithoutCancel(ctx), args...)
	}
	return p.Tx.QueryRowContext(ctx, query, args...)
}

func (p *parsedTx) of(ctx context.Context, query string) *sql.Stmt {
	if ctx.Err() != nil {
		return nil
	}
	if st := p.known.has(query); st != nil {
		return p.Tx.StmtContext(ctx, st)
	}
	p.first = append(p.first, query)
	return nil
}

// learn parses what was new, once end has ended the transaction if nobody has yet.
// What cannot be parsed was told of when it was run.
func (p *parsedTx) learn(ctx context.Context, end func()) {
	end()
	for _, query := range p.first {
		p.known.of(ctx, query)
	}
}
