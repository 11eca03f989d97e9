// Package matrix joins Matrix to the core: rooms and direct messages, encrypted
// or not, over the client-server API of one homeserver.
//
// What comes in: Run asks the homeserver for what is new (/sync), decrypts it,
// and gives each event to a queue of its sender. There it becomes a bot.Request
// for the handler, whose Reply is rendered into parts and sent. What goes out by
// itself comes in by Post.
//
// Nothing is lost and nothing said twice. The place in the stream of events
// that is kept lies behind every event that is not answered yet; the ids of
// those that are answered are kept beside it. Each message goes out under a
// transaction id made of its key, one at a time in a room, and is known to have
// arrived by the server's answer or by its echo in the stream. A message whose
// fate is unknown is looked for before it is sent again (doubt.go), and one that a
// server brings out a second time all the same is taken back.
//
// Nothing is sent in the clear into a room that is, or may be, encrypted.
// Encryption needs the build tag goolm. Without it the package works in rooms
// that are not encrypted and leaves the others, saying why.
//
// Bounds and times are our own choices, made without a source, where none stands
// beside them.
//
// The folder of config.Matrix.Keys holds what no backup may turn back: the keys
// and the token of this device (keys.db, sealed with pickle.key) and what has
// been seen and sent (seen.db). Who loses it starts as a new device, which the
// account's recovery key signs.
package matrix
