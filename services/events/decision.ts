// Matters that quality opens and closes: holds, recalls, drills. Published by the query layer's
// mutations only.
import { declare, fact, slotOf } from './event-type.ts'
import { type Fact, type Name, THINGS } from './fact.ts'
import {
  castings,
  choice,
  id,
  lines,
  list,
  moment,
  number,
  optional,
  record,
  ref,
  text,
  type Values,
  whole,
} from './field.ts'
import { listWords, thingWords } from './words.ts'

export const by = id('person', 'Who decided, as a code.')
export const reason = text('Why, in a sentence.', 500)
/** The number of an answer holds its question. */
const answer = text('Number of the answer it rests on.', 4000)
export const scope = lines(
  { of: ref(THINGS, 'A thing.'), castings: optional(castings('Only so many of it.')) },
  'What it covers.',
)

/** What a decision to hold or recall is made of. */
const decision = {
  of: scope,
  part: optional(
    record(
      { no: whole('Which part, from 1.'), of: whole('How many parts there are so far.') },
      'A large scope comes in parts, and a wider one adds some. Absent: the only one.',
    ),
  ),
  reason,
  say: optional(text('Words for those who talk to customers.', 2000)),
  due: optional(moment('To be decided until.')),
  basedOn: optional(answer),
  by,
}
type Decision = Values<typeof decision>

const hold = id('hold', 'The hold.')

const holdPlaced = declare({
  type: 'quality.hold-placed.v1',
  means: 'Things were put on hold.',
  fields: { hold, ...decision },
  subject: (data) => 'hold:' + data.hold,
  slot: (data) => partSlot(data.hold, data),
  slotMeans: 'hold and part',
  facts: (data, { at }) => openingFacts('hold:' + data.hold, data, at),
  says: (data) => `Put ${scopeWords(data.of)} on hold: ${data.reason}`,
})

const holdReleased = declare({
  type: 'quality.hold-released.v1',
  means: 'Things were released from a hold; what is named again stays released.',
  fields: { hold, ...decision },
  subject: (data) => 'hold:' + data.hold,
  slot: (data) => partSlot(data.hold, data),
  slotMeans: 'hold and part',
  facts: (data, { at }) =>
    data.of.map((part) =>
      fact('released', {
        of: part.of,
        other: 'hold:' + data.hold,
        at,
        amount: part.castings?.value,
        reason: data.reason,
        by: data.by,
      }),
    ),
  says: (data) => `Released ${scopeWords(data.of)} from hold ${data.hold}: ${data.reason}`,
})

export const recall = id('recall', 'The recall.')

const recallOpened = declare({
  type: 'quality.recall-opened.v1',
  means: 'A recall was opened or made wider.',
  fields: { recall, ...decision },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => partSlot(data.recall, data),
  slotMeans: 'recall and part',
  facts: (data, { at }) => openingFacts('recall:' + data.recall, data, at),
  says: (data) => `Opened recall ${data.recall} of ${scopeWords(data.of)}: ${data.reason}`,
})

const recallClosed = declare({
  type: 'quality.recall-closed.v1',
  means: 'A recall was closed.',
  fields: { recall, ...decision, of: optional(scope) },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall),
  slotMeans: 'recall',
  facts: (data, { at }) => [
    fact('matter-closed', { of: 'recall:' + data.recall, at, reason: data.reason, by: data.by }),
  ],
  says: (data) => `Closed recall ${data.recall}: ${data.reason}`,
})

const dispositionRecorded = declare({
  type: 'quality.disposition-recorded.v1',
  means: 'It was decided what becomes of things.',
  fields: {
    of: scope,
    under: optional(ref(['hold', 'recall'], 'The hold or recall it belongs to.')),
    decision: choice(
      ['kept-apart', 'use', 'rework', 'strip', 'scrap', 'return-to-supplier'],
      'What becomes of them; kept-apart: found, and not yet decided.',
    ),
    spot: optional(text('Where they stand.', 64)),
    reason,
    by,
  },
  subject: (data) => data.of[0]!.of,
  facts: (data, { at }) =>
    data.of.map((part) =>
      fact('disposed', {
        of: part.of,
        other: data.under,
        at,
        amount: part.castings?.value,
        decision: data.decision,
        spot: data.spot,
        by: data.by,
      }),
    ),
  says: (data) => `Decided on ${scopeWords(data.of)}: ${data.decision}, because ${data.reason}`,
})

const drill = id('drill', 'The drill.')

const drillStarted = declare({
  type: 'quality.drill-started.v1',
  means: 'A tracing drill was started.',
  fields: { drill, of: optional(scope), picked: optional(text('How it was picked.', 200)), by },
  subject: (data) => 'drill:' + data.drill,
  slot: (data) => slotOf(data.drill),
  slotMeans: 'drill',
  facts: (data, { at }) =>
    openingFacts(
      'drill:' + data.drill,
      { of: data.of ?? [], reason: data.picked ?? 'not said', by: data.by },
      at,
    ),
  says: (data) => `Started drill ${data.drill}`,
})

const drillEnded = declare({
  type: 'quality.drill-ended.v1',
  means: 'A tracing drill was ended.',
  fields: {
    drill,
    of: optional(scope),
    by,
    laps: optional(
      lines(
        { part: text('Which part of it.'), seconds: number('How long it took.', 0, 1e7) },
        'How long each part took.',
      ),
    ),
    castings: optional(castings('In its scope.')),
    accounted: optional(castings('Of these, at a place that reports tell.')),
    basedOn: optional(list(answer, 'Numbers of its answers.')),
  },
  subject: (data) => 'drill:' + data.drill,
  slot: (data) => slotOf(data.drill),
  slotMeans: 'drill',
  facts: (data, { at }) => [
    fact('matter-closed', {
      of: 'drill:' + data.drill,
      at,
      reason: 'ended',
      by: data.by,
      laps: data.laps,
      castings: data.castings?.value,
      accounted: data.accounted?.value,
      basedOn: data.basedOn,
    }),
  ],
  says: (data) => `Ended drill ${data.drill}`,
})

export const DECISIONS = [
  holdPlaced,
  holdReleased,
  recallOpened,
  recallClosed,
  dispositionRecorded,
  drillStarted,
  drillEnded,
]

function partSlot(matter: string, { part }: Pick<Decision, 'part'>): string {
  return part ? slotOf(matter, part.no) : slotOf(matter)
}

/** The matter itself, and what it covers. */
function openingFacts(
  matter: Name,
  { of, part, reason, by, say, due, basedOn }: Omit<Decision, 'part'> & Partial<Decision>,
  at: number,
): Fact[] {
  return [
    fact('matter-opened', {
      of: matter,
      at,
      reason,
      by,
      say,
      due,
      basedOn,
      part: part?.no ?? 1,
      parts: part?.of ?? 1,
    }),
    ...of.map((line) =>
      fact('covered', { of: line.of, other: matter, at, amount: line.castings?.value }),
    ),
  ]
}

function scopeWords(of: Values<{ of: typeof scope }>['of']): string {
  return listWords(of.map((line) => thingWords(line.of)))
}
