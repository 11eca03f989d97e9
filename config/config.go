// Package config reads the settings of the program: a TOML file, and over it
// the environment. What it returns has been checked; a setting that is unknown
// or not allowed is an error whose sentence names the place, the setting, what
// is allowed and an example, for the person who runs the program.
package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"strconv"
	"strings"

	"github.com/caarlos0/env/v11"
	"github.com/pelletier/go-toml/v2"
)

// DefaultPath is the file that is read when none is named. It need not exist.
const DefaultPath = "weftroom.toml"

// EnvPrefix begins the names of the environment variables that override the
// file: console.history is WEFTROOM_CONSOLE_HISTORY. For a secret the same with
// FileSuffix names a file that holds nothing else.
const EnvPrefix = "WEFTROOM_"

// FileSuffix ends the name of a variable that names a secret's file.
const FileSuffix = "_FILE"

// maxFile is the most bytes that a settings file may hold.
const maxFile = 1 << 20

// Config are all settings. Paths are as they were written: a relative one is
// relative to the working directory, and ~ is not yet replaced.
type Config struct {
	Console Console `toml:"console" envPrefix:"CONSOLE_"`
	State   State   `toml:"state" envPrefix:"STATE_"`
	Serve   Serve   `toml:"serve" envPrefix:"SERVE_"`
	Matrix  Matrix  `toml:"matrix" envPrefix:"MATRIX_"`
	Discord Discord `toml:"discord" envPrefix:"DISCORD_"`
	Units   string  `toml:"units" env:"UNITS"` // "inches", "centimetres", or "": those that the person writes
	Log     Log     `toml:"log" envPrefix:"LOG_"`
}

// Console are the settings of the room in the terminal.
type Console struct {
	Name    string `toml:"name" env:"NAME"`       // under which what the user says is kept
	History string `toml:"history" env:"HISTORY"` // the file that keeps the lines typed; "" keeps none
	Files   string `toml:"files" env:"FILES"`     // the folder for the files of answers
}

// State says where what is remembered is kept.
type State struct {
	File      string `toml:"file" env:"FILE"`           // a SQLite file; "" remembers until the program ends
	URL       string `toml:"url" env:"URL"`             // of a PostgreSQL database, instead of a file
	Forgotten string `toml:"forgotten" env:"FORGOTTEN"` // the file that says who was forgotten; "" is beside a SQLite file
}

// Serve are the settings of the long-running process.
type Serve struct {
	Listen string `toml:"listen" env:"LISTEN"` // a loopback address for health and metrics; "" for none
}

// Matrix are the settings of the account in Matrix; without a Homeserver that
// chat is not joined.
type Matrix struct {
	Homeserver string `toml:"homeserver" env:"HOMESERVER"` // its URL
	User       string `toml:"user" env:"USER"`             // @name:server
	Password   string `toml:"password" env:"PASSWORD"`     // for the first login, and to sign a new device
	Recovery   string `toml:"recovery" env:"RECOVERY"`     // the recovery key, for a new device of an account that has one
	Keys       string `toml:"keys" env:"KEYS"`             // the folder for the device's keys and tokens, apart from the class
	Prefix     string `toml:"prefix" env:"PREFIX"`         // what begins a command in a room
	Invites    string `toml:"invites" env:"INVITES"`       // users and servers, between blanks, whose invitations are followed; "*" for all; "" for User's server
	Open       string `toml:"open" env:"OPEN"`             // "yes": who has power in a room may open a class there
}

// Discord are the settings of the application in Discord; without a Token that
// chat is not joined.
type Discord struct {
	Token  string `toml:"token" env:"TOKEN"`   // of the application's bot
	Shards string `toml:"shards" env:"SHARDS"` // into how many connections the servers are divided
	Open   string `toml:"open" env:"OPEN"`     // "yes": who may manage a server may open a class there
}

// ShardCount is Shards as a number.
func (d Discord) ShardCount() int {
	n, _ := strconv.Atoi(d.Shards) // checked by Load
	return max(n, 1)
}

// Log are the settings of the log on standard error.
type Log struct {
	Level string `toml:"level" env:"LEVEL"` // one of debug, info, warn, error
}

// Slog is the level for package slog.
func (l Log) Slog() slog.Level {
	var level slog.Level
	_ = level.UnmarshalText([]byte(l.Level)) // checked by Load
	return level
}

// Default are the settings when nothing is said.
func Default() *Config {
	return &Config{Console: Console{Name: "you", Files: "out"}, Log: Log{Level: "info"},
		Matrix: Matrix{Keys: "weftroom-matrix", Prefix: "!", Open: "yes"}, Discord: Discord{Shards: "1", Open: "yes"}}
}

// Load reads the file at path and then the environment, given as "NAME=value"
// lines. With an empty path it reads DefaultPath if there is one. An empty
// variable overrides nothing.
func Load(path string, environ []string) (*Config, error) {
	c := Default()
	name := path
	if path == "" {
		name = DefaultPath
	}
	raw, err := readFile(name)
	switch {
	case path == "" && errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	default:
		if err := c.readTOML(name, raw); err != nil {
			return nil, err
		}
	}
	if err := c.readEnviron(environ); err != nil {
		return nil, err
	}
	return c, nil
}

func readFile(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("the settings cannot be read: %w", err)
	}
	defer f.Close()
	raw, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("the settings cannot be read: %w", err)
	}
	if len(raw) > maxFile {
		return nil, fmt.Errorf("%s is too long for a settings file: up to %d bytes are read", name, maxFile)
	}
	return raw, nil
}

func (c *Config) readTOML(name string, raw []byte) error {
	d := toml.NewDecoder(bytes.NewReader(raw)).DisallowUnknownFields()
	err := d.Decode(c)
	var unknown *toml.StrictMissingError
	var broken *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		return unknownKey(name, unknown)
	case errors.As(err, &broken):
		return brokenKey(name, broken)
	case err != nil:
		return fmt.Errorf("%s: %s", name, oneLine(err.Error()))
	}
	for _, r := range rules {
		if !r.ok(*r.of(c)) {
			return fmt.Errorf("%s: %s", name, r.refusal(*r.of(c)))
		}
	}
	return nil
}

// unknownKey names the first setting that there is not, and the one that may
// have been meant.
func unknownKey(name string, unknown *toml.StrictMissingError) error {
	first := &unknown.Errors[0]
	line, _ := first.Position()
	key := strings.Join(first.Key(), ".")
	where := fmt.Sprintf("%s:%d", name, line)
	if near, ok := nearest(key); ok {
		return fmt.Errorf("%s: there is no setting %s; did you mean %s, as in %s?", where, quoted(key), near.key, near.example)
	}
	return fmt.Errorf("%s: there is no setting %s; there are %s", where, quoted(key), strings.Join(keys(), ", "))
}

// brokenKey explains what is no TOML, or has a value of another type.
func brokenKey(name string, broken *toml.DecodeError) error {
	line, column := broken.Position()
	key := strings.Join(broken.Key(), ".")
	for _, r := range rules {
		if r.key == key {
			return fmt.Errorf("%s:%d: %s must be %s, for example %s", name, line, key, r.allowed, r.example)
		}
		if key != "" && strings.HasPrefix(r.key, key+".") {
			return fmt.Errorf("%s:%d: %s is a group of settings, for example %s", name, line, key, r.example)
		}
	}
	return fmt.Errorf("%s:%d: this cannot be read as TOML at character %d (%s); a setting looks like units = \"inches\", quotes included",
		name, line, column, oneLine(strings.TrimPrefix(broken.Error(), "toml: ")))
}

func (c *Config) readEnviron(environ []string) error {
	variables := map[string]string{}
	for _, e := range environ {
		if name, value, ok := strings.Cut(e, "="); ok {
			variables[name] = value
		}
	}
	if err := readSecrets(variables); err != nil {
		return err
	}
	if err := env.ParseWithOptions(c, env.Options{Prefix: EnvPrefix, Environment: variables}); err != nil {
		return fmt.Errorf("the environment cannot be read: %s", oneLine(err.Error()))
	}
	for _, r := range rules {
		if value := variables[r.variable()]; value != "" && !r.ok(value) {
			return fmt.Errorf("%s: %s", r.variable(), r.refusal(value))
		}
	}
	return nil
}

// readSecrets puts secrets that stand in files of their own among the variables,
// as container and service managers hand them over.
func readSecrets(variables map[string]string) error {
	for _, r := range rules {
		name := variables[r.variable()+FileSuffix]
		if !r.secret || name == "" {
			continue
		}
		if variables[r.variable()] != "" {
			return fmt.Errorf("%s and %s are both there; keep one of them", r.variable(), r.variable()+FileSuffix)
		}
		raw, err := readFile(name)
		if err != nil {
			return fmt.Errorf("%s: %s", r.variable()+FileSuffix, oneLine(err.Error()))
		}
		variables[r.variable()] = strings.TrimSpace(string(raw))
		if variables[r.variable()] == "" {
			return fmt.Errorf("%s: the file is empty; it must hold %s", r.variable()+FileSuffix, r.allowed)
		}
	}
	return nil
}
