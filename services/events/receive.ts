// The receiving station: lots that come in, returns collected for melting again, bays and bins.
import { STORES, scale } from './consumed.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { MIXINGS, ROLES } from './fact.ts'
import {
  chemistry,
  choice,
  id,
  kg,
  lines,
  list,
  moment,
  number,
  optional,
  percent,
  ref,
  text,
  usual,
} from './field.ts'
import { gramSpread, grams, measuredChemistry, weight } from './measure.ts'
import { impossible } from './problem.ts'
import { kgWords, listWords, thingWords } from './words.ts'

const lotReceived = declare({
  type: 'receive.lot-received.v1',
  means: 'A lot of material came in.',
  fields: {
    lot: id('lot', 'The lot.'),
    material: text('What it is, as recipes name it.'),
    role: optional(choice(ROLES, 'What it is used for.')),
    metalPercent: optional(
      percent(
        'Part of the weighed mass that becomes metal.',
        usual(50, 100, 'common practice, no source'),
      ),
    ),
    kg: kg('Weighed in.'),
    scale,
    supplier: text('Who sent it, as a code.'),
    supplierLots: optional(list(text('A lot of the supplier.'), "The supplier's own lots in it.")),
    certificate: optional(chemistry('What the certificate says.')),
    bin: optional(id('bin', 'Where all of it went.')),
  },
  subject: (data) => 'lot:' + data.lot,
  slot: (data) => slotOf(data.lot),
  slotMeans: 'lot',
  facts(data, { at }) {
    const of = 'lot:' + data.lot
    return [
      fact('lot-received', {
        of,
        at,
        amount: grams(data.kg),
        // Unsaid, it is held to the strictest rule: any exposure counts, not a share of the mass.
        role: data.role ?? 'other',
        material: data.material,
        supplier: data.supplier,
        metalPercent: data.metalPercent?.value,
        via: data.bin && 'bin:' + data.bin,
        supplierLots: data.supplierLots,
      }),
      ...measuredChemistry({ of, at }, data.certificate),
    ]
  },
  says: (data) =>
    `Lot ${data.lot} came in: ${kgWords(data.kg)} of ${data.material} from ${data.supplier}`,
})

const returnsCollected = declare({
  type: 'receive.returns-collected.v1',
  means: 'Gates, scrap castings, pigs or spills were put together as a lot to melt again.',
  fields: {
    lot: id('lot', 'The lot they became.'),
    what: choice(['gates', 'castings', 'pig', 'spill', 'market', 'outside'], 'What they are.'),
    kg: optional(kg('Collected.')),
    sources: optional(
      lines(
        {
          of: ref(
            [
              'pour',
              'load',
              'tote',
              'pack',
              'pan',
              'molds',
              'ladle',
              'furnace',
              'lot',
              'bin',
              'shipment',
            ],
            'What they came from.',
          ),
          kg: optional(kg('From it.')),
        },
        'Where they came from.',
      ),
    ),
    line: optional(id('line', 'The line they came from.')),
    startedAt: optional(moment('Collecting began.')),
    endedAt: optional(moment('Collecting ended.')),
    bin: optional(id('bin', 'Where all of it went.')),
  },
  subject: (data) => 'lot:' + data.lot,
  impossible: (data) =>
    (data.sources ?? []).some((source) => source.of === 'lot:' + data.lot)
      ? [impossible('sources', 'name the lot itself', 'Name what it was collected from')]
      : [],
  unusual(data) {
    const sum = (data.sources ?? []).reduce((kg, source) => kg + (source.kg?.value ?? 0), 0)
    if (!data.kg || sum <= data.kg.value * 1.05) return []
    return [`sources add to ${sum} kg, more than the ${data.kg.value} kg collected`]
  },
  facts(data, context) {
    const of = 'lot:' + data.lot
    const at = data.endedAt ?? context.at
    return [
      fact('returns-collected', {
        of,
        at,
        amount: grams(data.kg),
        sort: data.what,
        line: data.line,
        from: data.startedAt,
        via: data.bin && 'bin:' + data.bin,
      }),
      ...(data.sources ?? []).map((source) =>
        fact('returned-from', { of, at, other: source.of, ...weight(source.kg) }),
      ),
    ]
  },
  says: (data) => `Collected ${kgWords(data.kg)} of returns (${data.what}) as lot ${data.lot}`,
})

const binFilled = declare({
  type: 'receive.bin-filled.v1',
  means: 'Lots were put into a bay, bunker, hopper, silo, tank or bath.',
  fields: {
    bin: id('bin', 'The bin.'),
    use: choice(['bay', 'bunker', 'hopper', 'silo', 'tank', 'bath'], 'What kind of bin it is.'),
    lines: lines(
      { of: ref(STORES, 'What was put in.'), kg: kg('Of it.') },
      'What went in, in order.',
    ),
    kgBefore: optional(kg('What the bin held just before.')),
    mixing: optional(choice(MIXINGS, 'How what is drawn relates to what was put in.')),
    turnover: optional(number('Bin-fulls after which the old is taken as gone.', 0, 1000)),
  },
  subject: (data) => 'bin:' + data.bin,
  impossible: (data) =>
    data.lines.some((line) => line.of === 'bin:' + data.bin)
      ? [impossible('lines', 'name the bin itself', 'Name what was put into it')]
      : [],
  facts(data, { at }) {
    const of = 'bin:' + data.bin
    const held = data.kgBefore
    return [
      ...(held
        ? [
            fact('vessel-set', {
              of,
              at,
              amount: grams(held),
              spread: gramSpread(held),
              reason: 'measured',
            }),
          ]
        : []),
      ...data.lines.map((line) =>
        fact('bin-filled', {
          of,
          at,
          other: line.of,
          ...weight(line.kg),
          use: data.use,
          mixing: data.mixing,
          turnover: data.turnover,
        }),
      ),
    ]
  },
  says: (data) =>
    `Filled bin ${data.bin} from ${listWords(data.lines.map((line) => thingWords(line.of)))}`,
})

const binSet = declare({
  type: 'receive.bin-set.v1',
  means: 'What a bin holds was measured, or it was emptied or cleaned.',
  fields: {
    bin: id('bin', 'The bin.'),
    kg: kg('What it holds from now on.'),
    reason: choice(['measured', 'emptied', 'cleaned'], 'Why it is known.'),
  },
  subject: (data) => 'bin:' + data.bin,
  unusual: (data) =>
    data.reason !== 'measured' && data.kg.value > 0
      ? [`kg ${data.kg.value} is left in a bin that was ${data.reason}`]
      : [],
  facts: (data, { at }) => [
    fact('vessel-set', {
      of: 'bin:' + data.bin,
      at,
      amount: grams(data.kg),
      spread: gramSpread(data.kg),
      reason: data.reason,
    }),
  ],
  says: (data) => `Bin ${data.bin} was ${data.reason} and holds ${kgWords(data.kg)}`,
})

export const RECEIVE = [lotReceived, returnsCollected, binFilled, binSet]
