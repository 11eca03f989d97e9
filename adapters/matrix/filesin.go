package matrix

import (
	"context"
	"fmt"

	"weftroom/bot"
)

// download makes the function that gives the bytes of a file that somebody sent.
// It asks our own homeserver only, and believes nothing that was said of the
// file's size.
func (c *Chat) download(a attached) func(ctx context.Context, most int64) ([]byte, error) {
	return func(ctx context.Context, most int64) ([]byte, error) {
		client, err := c.client(ctx)
		if err != nil {
			return nil, err
		}
		answer, err := client.Download(ctx, a.uri)
		if err != nil {
			return nil, fmt.Errorf("a file could not be loaded: %w", err)
		}
		defer answer.Body.Close()
		raw, err := bot.ReadMost(answer.Body, most)
		if err != nil {
			return nil, fmt.Errorf("a file could not be loaded: %w", err)
		}
		if a.secret == nil {
			return raw, nil
		}
		secret := *a.secret // which keeps what it has decoded
		if err := secret.DecryptInPlace(raw); err != nil {
			return nil, fmt.Errorf("a file could not be decrypted: %w", err)
		}
		return raw, nil
	}
}
