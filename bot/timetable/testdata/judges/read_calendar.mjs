// Reads the calendars named on the command line with ical.js and prints one
// JSON object for each, in order: "refused" says why it was refused, or else
// "events" holds what was read.
import { readFileSync } from 'node:fs';
import ICAL from 'ical.js';

ICAL.design.strict = true;

function utc(time) {
  return time.toJSDate().toISOString().replace('.000Z', 'Z');
}

function read(data) {
  const jcal = ICAL.parse(data);
  const calendar = new ICAL.Component(jcal);
  if (calendar.name !== 'vcalendar') {
    throw new Error(`a ${calendar.name}, not one calendar`);
  }
  return calendar.getAllSubcomponents('vevent').map((component) => {
    const event = new ICAL.Event(component, { strictExceptions: true });
    return {
      uid: event.uid,
      start: utc(event.startDate),
      end: utc(event.endDate),
      status: component.getFirstPropertyValue('status'),
      sequence: event.sequence,
      summary: event.summary,
      description: event.description ?? '',
      url: component.getFirstPropertyValue('url') ?? '',
    };
  });
}

for (const path of process.argv.slice(2)) {
  let answer;
  try {
    answer = { events: read(readFileSync(path, 'utf8')) };
  } catch (problem) {
    answer = { refused: String(problem) };
  }
  console.log(JSON.stringify(answer));
}
