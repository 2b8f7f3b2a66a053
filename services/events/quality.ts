// What quality decides: limits, holds, recalls, what becomes of castings. Published by the query
// layer's mutations only; decisions about the record itself are in correction.ts.
import { declare, fact, slotOf } from './event-type.ts'
import { type Fact, STATIONS } from './fact.ts'
import {
  castings,
  choice,
  id,
  lines,
  moment,
  number,
  optional,
  record,
  ref,
  THINGS,
  text,
  unitCode,
  type Values,
} from './field.ts'
import { limitsOf } from './limits.ts'
import { impossible } from './problem.ts'
import { KEPT, keptOf, UNITS } from './units.ts'
import { listWords, thingWords } from './words.ts'

const ANY = 1e15
const by = id('person', 'Who decided, as a code.')
const reason = text('Why, in a sentence.', 500)
const customer = text('The customer, as a code.', 64)
const scope = lines(
  { of: ref(THINGS, 'A thing.'), castings: optional(castings('Only so many of it.')) },
  'What it covers.',
)
/** What a decision to hold or recall is made of. */
const decision = {
  of: scope,
  reason,
  say: optional(text('Words for those who talk to customers.', 2000)),
  due: optional(moment('To be decided until.')),
  basedOn: optional(text('Number of the answer it rests on.', 64)),
  by,
}

const limitsSet = declare({
  type: 'quality.limits-set.v1',
  means: 'Limits of a quantity were set.',
  fields: {
    of: record(
      {
        product: optional(text('Of this product.', 64)),
        line: optional(id('line', 'Of this line.')),
        recipe: optional(id('recipe', 'Of this recipe.')),
        machine: optional(id('machine', 'Of this machine.')),
      },
      'What they hold for; everything where nothing is named.',
    ),
    quantity: text('The quantity.', 64),
    low: optional(number('Lowest allowed.', -ANY, ANY)),
    aim: optional(number('What is aimed at.', -ANY, ANY)),
    high: optional(number('Highest allowed.', -ANY, ANY)),
    unit: unitCode('Unit of the three, UN/CEFACT Recommendation 20.'),
    from: moment('From when on.'),
  },
  subject: () => undefined,
  slot: ({ of, quantity, from }) =>
    slotOf(of.product ?? '', of.line ?? '', of.recipe ?? '', of.machine ?? '', quantity, from),
  slotMeans: 'of, quantity and from',
  impossible(data) {
    const { low, aim, high } = data
    const outside = aim !== undefined && (aim < (low ?? aim) || aim > (high ?? aim))
    return outside ? [impossible('aim', 'is outside its limits', 'Check low, aim and high')] : []
  },
  facts({ of, quantity, unit, from, ...limits }) {
    const kept = (limit: number | undefined) =>
      limit === undefined ? undefined : keptOf({ value: limit }, unit).value.value
    const { low, aim, high } = limits
    return [
      fact('limits-set', {
        ...of,
        of: limitsOf(quantity),
        at: from,
        low: kept(low),
        aim: kept(aim),
        high: kept(high),
        unit: KEPT[UNITS.get(unit)!.measure],
      }),
    ]
  },
  says: (data) =>
    `Limits of ${data.quantity}: ${data.low ?? '–'} to ${data.high ?? '–'} ${data.unit}`,
})

const machineChanged = declare({
  type: 'quality.machine-changed.v1',
  means: 'Something about a machine was changed.',
  fields: {
    station: choice(STATIONS, 'Where it stands.'),
    machine: id('machine', 'The machine.'),
    change: choice(
      ['repaired', 'adjusted', 'replaced', 'cleaned', 'program', 'crew'],
      'What changed.',
    ),
    note: optional(text('More about it.', 500)),
  },
  subject: (data) => 'machine:' + data.machine,
  facts: ({ station, machine, change }, { at }) => [
    fact('machine-changed', { of: 'machine:' + machine, at, station, change }),
  ],
  says: (data) => `Machine ${data.machine}: ${data.change}`,
})

const hold = id('hold', 'The hold.')

const holdPlaced = declare({
  type: 'quality.hold-placed.v1',
  means: 'Things were put on hold.',
  fields: { hold, ...decision },
  subject: (data) => 'hold:' + data.hold,
  slot: (data) => slotOf(data.hold),
  slotMeans: 'hold',
  facts: (data, { at }) => scopeFacts('held', data, at),
  says: (data) => `Put ${scopeWords(data.of)} on hold: ${data.reason}`,
})

const holdReleased = declare({
  type: 'quality.hold-released.v1',
  means: 'Things were released from a hold.',
  fields: { hold, ...decision },
  subject: (data) => 'hold:' + data.hold,
  slot: (data) => slotOf(data.hold),
  slotMeans: 'hold',
  facts: (data, { at }) => scopeFacts('released', data, at),
  says: (data) => `Released ${scopeWords(data.of)} from hold ${data.hold}: ${data.reason}`,
})

const recall = id('recall', 'The recall.')

const recallOpened = declare({
  type: 'quality.recall-opened.v1',
  means: 'A recall was opened; a wider scope supersedes it.',
  fields: { recall, ...decision },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall),
  slotMeans: 'recall',
  facts: () => [],
  says: (data) => `Opened recall ${data.recall} of ${scopeWords(data.of)}: ${data.reason}`,
})

const recallClosed = declare({
  type: 'quality.recall-closed.v1',
  means: 'A recall was closed.',
  fields: { recall, ...decision },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall),
  slotMeans: 'recall',
  facts: () => [],
  says: (data) => `Closed recall ${data.recall}: ${data.reason}`,
})

const recallAnswered = declare({
  type: 'quality.recall-answered.v1',
  means: 'A customer said what became of recalled castings.',
  fields: {
    recall,
    customer,
    lines: lines(
      {
        pack: optional(id('pack', 'The pack, where it is known.')),
        mark: optional(text('The mark.')),
        castings: castings('How many.'),
        outcome: choice(
          ['held', 'returned', 'destroyed', 'sold', 'not-found'],
          'What became of them.',
        ),
      },
      'What became of them.',
    ),
  },
  subject: (data) => 'recall:' + data.recall,
  facts: () => [],
  says: (data) => `Customer ${data.customer} answered recall ${data.recall}`,
})

const customerTold = declare({
  type: 'quality.customer-told.v1',
  means: 'A customer was told of a recall.',
  fields: { recall, customer, by },
  subject: (data) => 'recall:' + data.recall,
  slot: (data) => slotOf(data.recall, data.customer),
  slotMeans: 'recall and customer',
  facts: () => [],
  says: (data) => `Told customer ${data.customer} of recall ${data.recall}`,
})

const dispositionRecorded = declare({
  type: 'quality.disposition-recorded.v1',
  means: 'It was decided what becomes of things.',
  fields: {
    of: scope,
    decision: choice(
      ['use', 'rework', 'strip', 'scrap', 'return-to-supplier'],
      'What becomes of them.',
    ),
    reason,
    by,
  },
  subject: (data) => data.of[0]!.of,
  facts: () => [],
  says: (data) => `Decided on ${scopeWords(data.of)}: ${data.decision}, because ${data.reason}`,
})

const drill = {
  drill: id('drill', 'The drill.'),
  of: optional(scope),
  by,
}

const drillStarted = declare({
  type: 'quality.drill-started.v1',
  means: 'A tracing drill was started.',
  fields: drill,
  subject: (data) => 'drill:' + data.drill,
  slot: (data) => slotOf(data.drill),
  slotMeans: 'drill',
  facts: () => [],
  says: (data) => `Started drill ${data.drill}`,
})

const drillEnded = declare({
  type: 'quality.drill-ended.v1',
  means: 'A tracing drill was ended.',
  fields: drill,
  subject: (data) => 'drill:' + data.drill,
  slot: (data) => slotOf(data.drill),
  slotMeans: 'drill',
  facts: () => [],
  says: (data) => `Ended drill ${data.drill}`,
})

export const QUALITY = [
  limitsSet,
  machineChanged,
  holdPlaced,
  holdReleased,
  recallOpened,
  recallClosed,
  recallAnswered,
  customerTold,
  dispositionRecorded,
  drillStarted,
  drillEnded,
]

type Scope = Values<typeof decision>['of']

function scopeFacts(
  what: 'held' | 'released',
  { hold, of, reason, by }: { hold: string; of: Scope; reason: string; by: string },
  at: number,
): Fact[] {
  return of.map((part) =>
    fact(what, { of: part.of, at, hold, reason, by, castings: part.castings?.value }),
  )
}

function scopeWords(scope: Scope): string {
  return listWords(scope.map(({ of }) => thingWords(of)))
}
