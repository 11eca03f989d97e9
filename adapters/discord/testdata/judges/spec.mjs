// Holds recorded request bodies to Discord's published interface description, in
// the form of the schemas of discord-api-spec, with nothing unknown allowed.
//
//   node spec.mjs RECORDED.jsonl
//
// For each line of the file there is one on standard output, in the same order:
// {"route": …, "refused": ""} or why it was refused.
import { readFileSync } from 'node:fs';

// The package makes its schemas when it is loaded, before anything could ask for
// strict ones, so that is asked for in its text.
const loaded = readFileSync(new URL(import.meta.resolve('discord-api-spec/zod')), 'utf8');
const strict = loaded
  .replace('let zObject = z.object;', 'let zObject = z.strictObject;')
  .replace('"zod/mini"', JSON.stringify(import.meta.resolve('zod/mini')));
if (strict === loaded) throw new Error('the schemas of discord-api-spec are no longer made as they were; look how they become strict');
const spec = await import('data:text/javascript;base64,' + Buffer.from(strict).toString('base64'));

const oneOf = (...schemas) => (body) => {
  const results = schemas.map((s) => s.safeParse(body));
  return results.find((r) => r.success) ?? results.find((r) => !r.error.issues.some((i) => i.path[0] === 'type')) ?? results[0];
};
const one = (schema) => (body) => schema.safeParse(body);

// The description says that default_member_permissions is an integer; the
// interface wants, and gives, a string of digits.
const commands = (body) => {
  if (!Array.isArray(body)) return { success: false, error: new Error('not a list of commands') };
  for (const command of body) {
    const p = command.default_member_permissions;
    if (p !== undefined && p !== null && !(typeof p === 'string' && /^\d+$/.test(p))) {
      return { success: false, error: new Error(`default_member_permissions of ${command.name} is no string of digits`) };
    }
    const result = spec.ApplicationCommandUpdateRequestSchema.safeParse({ ...command, default_member_permissions: p == null ? p : Number(p) });
    if (!result.success) return { success: false, error: new Error(`${command.name}: ${result.error}`) };
  }
  return { success: true };
};

const judges = {
  'PUT /applications/{app}/commands': commands,
  'PUT /applications/{app}/guilds/{guild}/commands': commands,
  'POST /interactions/{id}/{token}/callback': oneOf(
    spec.CreateMessageInteractionCallbackRequestSchema, spec.UpdateMessageInteractionCallbackRequestSchema,
    spec.ApplicationCommandAutocompleteCallbackRequestSchema, spec.ModalInteractionCallbackRequestSchema),
  'POST /webhooks/{app}/{token}': one(spec.IncomingWebhookRequestPartialSchema),
  'PATCH /webhooks/{app}/{token}/messages/{message}': one(spec.IncomingWebhookUpdateRequestPartialSchema),
  'POST /channels/{channel}/messages': one(spec.MessageCreateRequestSchema),
  'PATCH /channels/{channel}/messages/{message}': one(spec.MessageEditRequestPartialSchema),
  'POST /users/@me/channels': one(spec.CreatePrivateChannelRequestSchema),
  'POST /guilds/{guild}/scheduled-events': one(spec.ExternalScheduledEventCreateRequestSchema),
  'PATCH /guilds/{guild}/scheduled-events/{event}': one(spec.ExternalScheduledEventPatchRequestPartialSchema),
};

const why = (error) => (error.issues ? JSON.stringify(error.issues) : error.message).slice(0, 2000);

for (const line of readFileSync(process.argv[2], 'utf8').split('\n').filter(Boolean)) {
  const { route, body } = JSON.parse(line);
  const judge = judges[route];
  let refused = judge ? '' : 'there is no schema for this route';
  if (judge) {
    const result = judge(body);
    if (!result.success) refused = why(result.error);
  }
  console.log(JSON.stringify({ route, refused }));
}
