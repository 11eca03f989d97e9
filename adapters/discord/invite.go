package discord

// Permissions are what a server must let the bot do, as an invitation asks for
// them (Discord documentation, Permissions): view channels, send messages, in
// threads too, attach files, read message history, create events.
const Permissions = 1<<10 | 1<<11 | 1<<38 | 1<<15 | 1<<16 | 1<<44
