// What quality says: limits, changed machines. Matters are in decision.ts, calls of a recall in
// recall-calls.ts, decisions about the record itself in correction.ts; all are published by the query layer's mutations only.
import { DECISIONS } from './decision.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { STATIONS } from './fact.ts'
import { choice, id, moment, number, optional, record, text, unitCode } from './field.ts'
import { limitsOf } from './limits.ts'
import { impossible } from './problem.ts'
import { RECALL_CALLS } from './recall-calls.ts'
import { KEPT, keptOf, UNITS } from './units.ts'

const ANY = 1e15
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

export const QUALITY = [limitsSet, machineChanged, ...DECISIONS, ...RECALL_CALLS]
