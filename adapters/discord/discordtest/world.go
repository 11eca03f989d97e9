package discordtest

import (
	"fmt"
	"time"
)

// Permission bits that matter to a bot of slash commands.
const (
	Administrator  int64 = 1 << 3
	ManageGuild    int64 = 1 << 5
	ViewChannel    int64 = 1 << 10
	SendMessages   int64 = 1 << 11
	AttachFiles    int64 = 1 << 15
	ReadHistory    int64 = 1 << 16
	UseCommands    int64 = 1 << 31
	ManageEvents   int64 = 1 << 33
	CreateEvents   int64 = 1 << 44
	everyone             = ViewChannel | SendMessages | AttachFiles | ReadHistory | UseCommands
	botPermissions       = everyone | CreateEvents | ManageEvents
)

// User is a person of the chat.
type User struct {
	srv  *Server
	ID   string
	Name string

	bot     bool
	refuses bool // takes no direct messages
	dm      *Channel
}

// User makes a person.
func (s *Server) User(name string) *User {
	s.mu.Lock()
	defer s.mu.Unlock()
	u := &User{srv: s, ID: s.newID(), Name: name}
	s.users[u.ID] = u
	return u
}

// RefuseDirect has the person take direct messages from nobody, or again.
func (u *User) RefuseDirect(yes bool) {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	u.refuses = yes
}

// DM is the channel in which she and the bot are alone.
func (u *User) DM() *Channel {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	return u.srv.dm(u)
}

func (s *Server) dm(u *User) *Channel {
	if u.dm == nil {
		u.dm = &Channel{srv: s, ID: s.newID(), direct: u}
		s.channels[u.dm.ID] = u.dm
	}
	return u.dm
}

// Guild is what Discord shows as a server.
type Guild struct {
	srv  *Server
	ID   string
	Name string

	absent    bool // the bot is no member; commands come from a person's own installation
	perms     int64
	channels  []*Channel
	members   map[string]int64
	overrides map[string]bool // "command user"
	events    []*Event
}

// Guild makes a server of which the bot is a member.
func (s *Server) Guild(name string) *Guild { return s.guild(name, false) }

// ForeignGuild makes a server of which the bot is no member: whoever uses it
// there has installed it for herself.
func (s *Server) ForeignGuild(name string) *Guild { return s.guild(name, true) }

func (s *Server) guild(name string, absent bool) *Guild {
	s.mu.Lock()
	defer s.mu.Unlock()
	g := &Guild{
		srv: s, ID: s.newID(), Name: name, absent: absent, perms: botPermissions,
		members: map[string]int64{}, overrides: map[string]bool{},
	}
	s.guilds[g.ID] = g
	if !absent {
		s.dispatch("GUILD_CREATE", g.object(), intentGuilds, g.ID)
	}
	return g
}

// Channel makes a text channel.
func (g *Guild) Channel(name string) *Channel {
	g.srv.mu.Lock()
	defer g.srv.mu.Unlock()
	c := &Channel{srv: g.srv, ID: g.srv.newID(), Name: name, guild: g}
	g.channels = append(g.channels, c)
	g.srv.channels[c.ID] = c
	if !g.absent {
		g.srv.dispatch("CHANNEL_CREATE", c.object(), intentGuilds, g.ID)
	}
	return c
}

// Join makes u a member, with permissions beyond those that everyone has.
func (g *Guild) Join(u *User, more ...int64) {
	g.srv.mu.Lock()
	defer g.srv.mu.Unlock()
	p := everyone
	for _, m := range more {
		p |= m
	}
	g.members[u.ID] = p
}

// Allow shows a command to a member whatever its default_member_permissions
// say, as an administrator of a server can, or hides it.
func (g *Guild) Allow(name string, u *User, yes bool) {
	g.srv.mu.Lock()
	defer g.srv.mu.Unlock()
	g.overrides[name+" "+u.ID] = yes
}

// LetBot sets the bot's own permissions.
func (g *Guild) LetBot(perms int64) {
	g.srv.mu.Lock()
	defer g.srv.mu.Unlock()
	g.perms = perms
}

// BotPermissions are what the bot has unless LetBot says otherwise.
func BotPermissions() int64 { return botPermissions }

// Channel is a text channel of a guild, or a direct one.
type Channel struct {
	srv   *Server
	ID    string
	Name  string
	guild *Guild
	// direct is who is alone with the bot in it.
	direct *User

	gone     bool
	messages []*message // in the order of their creation
	seen     []seen     // what has appeared, one entry for each new or changed message
	dropped  int        // how many entries of seen have been forgotten
}

// Delete removes the channel.
func (c *Channel) Delete() {
	c.srv.mu.Lock()
	defer c.srv.mu.Unlock()
	c.gone = true
	if c.guild != nil && !c.guild.absent {
		c.srv.dispatch("CHANNEL_DELETE", c.object(), intentGuilds, c.guild.ID)
	}
}

// sees tells whether u may read in c.
func (c *Channel) sees(u *User) bool {
	if c.gone {
		return false
	}
	if c.direct != nil {
		return c.direct == u || u.bot
	}
	return c.guild.members[u.ID]&ViewChannel != 0
}

type object = map[string]any

func (u *User) object() object {
	return object{"id": u.ID, "username": u.Name, "global_name": u.Name, "discriminator": "0", "avatar": nil, "bot": u.bot}
}

// clipped permissions of an administrator hold every bit.
func all(p int64) int64 {
	if p&Administrator != 0 {
		return 1<<53 - 1
	}
	return p
}

func (g *Guild) member(u *User) object {
	return object{
		"user": u.object(), "nick": nil, "roles": []string{}, "joined_at": "2026-01-01T00:00:00Z", "deaf": false, "mute": false,
		"flags": 0, "pending": false, "permissions": fmt.Sprint(all(g.members[u.ID])), "avatar": nil, "premium_since": nil,
	}
}

func (g *Guild) object() object {
	channels := []object{}
	for _, c := range g.channels {
		channels = append(channels, c.object())
	}
	bot := g.srv.users[g.srv.AppID]
	me := object{"user": bot.object(), "roles": []string{}, "joined_at": "2026-01-01T00:00:00Z", "deaf": false, "mute": false, "flags": 0}
	return object{
		"id": g.ID, "name": g.Name, "owner_id": "1", "large": false, "unavailable": false, "member_count": len(g.members) + 1,
		"joined_at": "2026-01-01T00:00:00Z", "icon": nil, "features": []string{}, "afk_timeout": 300, "verification_level": 0,
		"default_message_notifications": 0, "explicit_content_filter": 0, "mfa_level": 0, "nsfw_level": 0, "premium_tier": 0,
		"preferred_locale": "en-US", "system_channel_flags": 0, "premium_progress_bar_enabled": false,
		"roles": []object{{
			"id": g.ID, "name": "@everyone", "permissions": fmt.Sprint(g.perms), "position": 0, "color": 0, "hoist": false,
			"managed": false, "mentionable": false, "flags": 0,
		}},
		"channels": channels, "members": []object{me}, "threads": []object{}, "emojis": []object{}, "stickers": []object{},
		"voice_states": []object{}, "presences": []object{}, "stage_instances": []object{}, "guild_scheduled_events": []object{},
		"soundboard_sounds": []object{},
	}
}

func (c *Channel) object() object {
	if c.direct != nil {
		return object{"id": c.ID, "type": 1, "last_message_id": nil, "flags": 0, "recipients": []object{c.direct.object()}}
	}
	return object{
		"id": c.ID, "type": 0, "guild_id": c.guild.ID, "name": c.Name, "position": 0, "permission_overwrites": []object{},
		"nsfw": false, "topic": nil, "last_message_id": nil, "rate_limit_per_user": 0, "parent_id": nil, "flags": 0,
	}
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000000-07:00") }
