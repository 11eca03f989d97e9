package bot

import "context"

// Ledger makes each request that changes something happen once.
type Ledger interface {
	// Once runs do in one transaction, which the context that it hands on
	// carries, and keeps the Reply under the request's chat and id in the same
	// transaction. A request that has been through before is not run again: its
	// Reply of then comes back. An error of do undoes everything and keeps
	// nothing. A request without an ID cannot be known again.
	Once(ctx context.Context, r Request, do func(ctx context.Context) (Reply, error)) (Reply, error)

	// OnceSoon is Once without waiting for the disk. A process that is killed loses
	// nothing of it; a machine that loses its power may lose what came in its last
	// second, wholly and in order.
	OnceSoon(ctx context.Context, r Request, do func(ctx context.Context) (Reply, error)) (Reply, error)
}
