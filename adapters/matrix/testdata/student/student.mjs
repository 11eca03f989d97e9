// A student in a room that is not encrypted. She follows the invitation, says the
// line, waits for the answer and for the sign that its first button is said to
// have, reacts with it, and waits for what comes of that. What she sees is printed
// as one JSON object for each message and reaction.
//
//   node student.mjs HOMESERVER USER PASSWORD ROOM BOT LINE
import * as sdk from 'matrix-js-sdk';
import { logger } from 'matrix-js-sdk/lib/logger.js';

const [, , homeserver, user, password, room, bot, line] = process.argv;
logger.setLevel('silent');

const { access_token: accessToken, user_id: userId, device_id: deviceId } = await sdk
  .createClient({ baseUrl: homeserver })
  .loginRequest({ type: 'm.login.password', identifier: { type: 'm.id.user', user }, password });
const client = sdk.createClient({ baseUrl: homeserver, accessToken, userId, deviceId });

const seen = [];
const waiting = [];

function tell(event) {
  seen.push(event);
  for (let i = waiting.length - 1; i >= 0; i--) {
    if (waiting[i].fits(event)) waiting.splice(i, 1)[0].found(event);
  }
}

// next waits for an event, seen already or not.
function next(fits) {
  const there = seen.find(fits);
  return there ? Promise.resolve(there) : new Promise((found) => waiting.push({ fits, found }));
}

client.on(sdk.RoomEvent.Timeline, (event, at, toStart) => {
  if (toStart || at?.roomId !== room || event.getSender() !== bot) return;
  const content = event.getContent();
  const related = content['m.relates_to'] ?? {};
  const what = {
    type: event.getType(),
    id: event.getId(),
    kind: content.msgtype,
    body: content.body,
    html: content.formatted_body,
    mentions: content['m.mentions'],
    replyTo: related['m.in_reply_to']?.event_id,
    reactsTo: related.rel_type === 'm.annotation' ? related.event_id : undefined,
    key: related.key,
    file: content.url ? { name: content.filename, url: client.mxcUrlToHttp(content.url), info: content.info } : undefined,
  };
  console.log(JSON.stringify(what));
  tell(what);
});

await client.startClient({ initialSyncLimit: 20 });
await client.joinRoom(room);
const { event_id: said } = await client.sendTextMessage(room, line);
console.log(JSON.stringify({ type: 'said', id: said }));
const answer = await next((e) => e.replyTo === said && e.kind === 'm.text');
const sign = await next((e) => e.reactsTo === answer.id);
const { event_id: pressed } = await client.sendEvent(room, 'm.reaction', {
  'm.relates_to': { rel_type: 'm.annotation', event_id: answer.id, key: sign.key },
});
console.log(JSON.stringify({ type: 'pressed', id: pressed, key: sign.key }));
await next((e) => e.replyTo === answer.id);
client.stopClient();
process.exit(0);
