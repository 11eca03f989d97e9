// A bot on discord.js, connected to a server whose address it is told and
// otherwise left as it is. It says on standard output what it has done.
//
//   node bot.mjs URL TOKEN
import { ActionRowBuilder, AttachmentBuilder, ButtonBuilder, ButtonStyle, Client, GatewayIntentBits, MessageFlags, ModalBuilder, TextInputBuilder, TextInputStyle } from 'discord.js';

const [url, token] = process.argv.slice(2);
const say = (did, more = {}) => process.stdout.write(JSON.stringify({ did, ...more }) + '\n');
const client = new Client({ intents: [GatewayIntentBits.Guilds, GatewayIntentBits.DirectMessages], rest: { api: `${url}/api` } });

const echo = {
  name: 'echo', description: 'Say it again', contexts: [0, 1], integration_types: [0, 1],
  options: [{ type: 3, name: 'text', description: 'What to say', required: true, max_length: 100 }],
};
const plain = (name) => ({ name, description: `The ${name} of it` });

client.once('clientReady', async () => {
  await client.application.commands.set([echo, plain('picture'), plain('button'), plain('slow'), plain('form'), plain('post')]);
  say('ready', { guilds: client.guilds.cache.size });
});
client.on('shardResume', (_, replayed) => say('resumed', { replayed }));
client.on('error', (e) => say('error', { message: String(e) }));

const row = () => new ActionRowBuilder().addComponents(new ButtonBuilder().setCustomId('again').setLabel('Again').setStyle(ButtonStyle.Primary));

const commands = {
  echo: (i) => i.reply({ content: `echo ${i.options.getString('text')}`, flags: MessageFlags.Ephemeral }),
  picture: (i) => i.reply({ content: 'Here', files: [new AttachmentBuilder(Buffer.from('pixels'), { name: 'chart.png', description: 'three holes in a row' })] }),
  button: (i) => i.reply({ content: 'Press it', components: [row()] }),
  slow: async (i) => {
    await i.deferReply();
    await i.editReply({ content: 'at last', files: [new AttachmentBuilder(Buffer.from('late'), { name: 'late.txt', description: 'what was late' })] });
    const more = await i.followUp({ content: 'and more' });
    await more.delete();
  },
  form: (i) => i.showModal(new ModalBuilder().setCustomId('form').setTitle('Your loom').addComponents(
    new ActionRowBuilder().addComponents(new TextInputBuilder().setCustomId('width').setLabel('Weaving width').setStyle(TextInputStyle.Short)))),
  post: async (i) => {
    await i.deferReply({ flags: MessageFlags.Ephemeral });
    const first = await i.channel.send({ content: 'once', nonce: 'key-1', enforceNonce: true, allowedMentions: { parse: [] } });
    const again = await i.channel.send({ content: 'twice', nonce: 'key-1', enforceNonce: true, allowedMentions: { parse: [] } });
    await first.edit('once, changed');
    const start = Date.now() + 3600_000;
    const event = await i.guild.scheduledEvents.create({
      name: 'We meet', scheduledStartTime: start, scheduledEndTime: start + 3600_000, privacyLevel: 2, entityType: 3,
      entityMetadata: { location: 'in this chat' }, description: 'Bring a warp',
    });
    await event.edit({ name: 'We meet later' });
    const seen = await i.channel.messages.fetch({ limit: 5 });
    await i.editReply({ content: `same ${first.id === again.id}, in the history ${seen.has(first.id)}, events ${(await i.guild.scheduledEvents.fetch()).size}` });
  },
};

client.on('interactionCreate', async (i) => {
  try {
    if (i.isChatInputCommand()) await commands[i.commandName](i);
    else if (i.isButton()) await i.update({ content: 'Pressed', components: [] });
    else if (i.isModalSubmit()) await i.reply(`width ${i.fields.getTextInputValue('width')}`);
    say('answered', { kind: i.type });
  } catch (e) {
    say('error', { message: String(e) });
  }
});

process.on('unhandledRejection', (e) => { say('error', { message: String(e) }); process.exit(1); });
await client.login(token);
