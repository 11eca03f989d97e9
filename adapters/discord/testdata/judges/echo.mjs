// The floor of another library: a bot on discord.js that echoes.
//
//   node echo.mjs URL TOKEN
import { Client, GatewayIntentBits, MessageFlags } from 'discord.js';

const [url, token] = process.argv.slice(2);
const client = new Client({ intents: [GatewayIntentBits.Guilds], rest: { api: `${url}/api` } });
client.once('clientReady', () => client.application.commands.set([{ name: 'row', description: 'Echo' }]));
client.on('interactionCreate', (i) => i.reply({ content: 'echo', flags: MessageFlags.Ephemeral }));
await client.login(token);
