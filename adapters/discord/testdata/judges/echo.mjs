// The floor of another library: a bot on discord.js that echoes, and changes the
// message whose button was pressed.
//
//   node echo.mjs URL TOKEN
import { Client, GatewayIntentBits, MessageFlags } from 'discord.js';

const [url, token] = process.argv.slice(2);
const client = new Client({ intents: [GatewayIntentBits.Guilds], rest: { api: `${url}/api` } });
const components = [{ type: 1, components: [{ type: 2, style: 2, label: 'Next', custom_id: 'next' }] }];
client.once('clientReady', () => client.application.commands.set([
  { name: 'row', description: 'Echo' }, { name: 'start', description: 'Echo with a button' },
]));
client.on('interactionCreate', (i) => {
  if (i.isButton()) return i.update({ content: 'echo', components });
  if (i.commandName === 'start') return i.reply({ content: 'echo', components, flags: MessageFlags.Ephemeral });
  return i.reply({ content: 'echo', flags: MessageFlags.Ephemeral });
});
await client.login(token);
