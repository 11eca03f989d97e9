package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"

	"weftroom/adapters/discord"
	"weftroom/config"
)

// TestReadmeInvitesWithWhatIsNeeded: the address in the README asks for the
// scopes and the permissions that the adapter needs, and for no others.
func TestReadmeInvitesWithWhatIsNeeded(t *testing.T) {
	raw, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("&scope=bot+applications.commands&permissions=%d\n", int64(discord.Permissions))
	if !strings.Contains(string(raw), want) {
		t.Errorf("no address that ends in %q", want)
	}
}

// TestReadmeSettingsAreRead: the settings that the README shows for a chat can be
// read, and name nothing that there is not.
func TestReadmeSettingsAreRead(t *testing.T) {
	raw, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, part := range strings.Split(string(raw), "```toml\n")[1:] {
		text, _, _ := strings.Cut(part, "```")
		var c config.Config
		d := toml.NewDecoder(strings.NewReader(text)).DisallowUnknownFields()
		if err := d.Decode(&c); err != nil {
			t.Errorf("%v in:\n%s", err, text)
		}
		found++
	}
	if found < 3 {
		t.Errorf("only %d pieces of settings found", found)
	}
}
