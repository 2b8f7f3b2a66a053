// Decisions about the record itself: to replace what an event said, or to take it out. They name the
// event whole, so that what they come to follows from this one statement.
import { declare } from './event-type.ts'
import { fieldsOf, id, moment, optional, record, text } from './field.ts'
import { impossible, type Problem } from './problem.ts'
import { thingWords } from './words.ts'

const event = {
  source: text('Source of the event.', 400),
  id: text('Its id under that source.', 128),
  type: text('Its type.', 100),
  subject: optional(text('Its subject; absent where it has none.', 200)),
}
const reason = text('Why, in a sentence.', 500)
const by = id('person', 'Who decided, as a code.')

export const recordCorrected = declare({
  type: 'quality.record-corrected.v1',
  means: 'What an event said was replaced; its type, subject and time stay.',
  fields: {
    event: record({ ...event, time: moment('Its time.') }, 'The event that was wrong.'),
    data: fieldsOf('The whole data it should have had.'),
    reason,
    by,
  },
  subject: (data) => data.event.subject,
  slotMeans: 'that of the corrected event',
  impossible: (data) => ofDecision(data.event.type),
  // The catalogue adds the facts of the corrected type.
  facts: () => [],
  says: (data) => `Corrected ${eventWords(data.event)}: ${data.reason}`,
})

export const recordVoided = declare({
  type: 'quality.record-voided.v1',
  means: 'An event was taken out of the record for good, with all its corrections.',
  fields: { event: record(event, 'The event that never was.'), reason, by },
  subject: (data) => data.event.subject,
  slotMeans: 'that of the voided event',
  impossible: (data) => ofDecision(data.event.type),
  facts: () => [],
  says: (data) => `Voided ${eventWords(data.event)}: ${data.reason}`,
})

export const CORRECTIONS = [recordCorrected, recordVoided]

function ofDecision(type: string): Problem[] {
  if (!type.startsWith('quality.record-')) return []
  const fix = 'Name the event it decided on, or supersede the decision'
  return [impossible('event.type', 'is itself such a decision', fix)]
}

function eventWords(event: { type: string; id: string; subject?: string }): string {
  return event.type + (event.subject ? ` of ${thingWords(event.subject)}` : ` ${event.id}`)
}
