// The melt station: recipes, charges, heats on what the furnace kept, taps into ladles.
import { heatAdditions, ladleAdditions, STORES, scale, split, touched } from './consumed.ts'
import { declare, fact, slotOf } from './event-type.ts'
import {
  celsius,
  chemistry,
  choice,
  flag,
  id,
  kg,
  kWh,
  lines,
  minutes,
  moment,
  optional,
  percent,
  record,
  ref,
  refOr,
  text,
  usual,
  whole,
} from './field.ts'
import { gramSpread, grams, measured, measuredChemistry, weight } from './measure.ts'
import { impossible } from './problem.ts'
import { kgWords, listWords, thingWords } from './words.ts'

const FREE = 'common practice, no source'
/** Around cookware iron; see 1.3 and 1.4 of the published ranges: handbooks, from memory. */
const IRON = {
  C: usual(3, 4, 'handbook, from memory'),
  Si: usual(1.5, 3, 'handbook, from memory'),
  Mn: usual(0.2, 1.2, 'handbook, from memory'),
  P: usual(0, 1, 'supplier note on phosphorus in gray iron: up to 1 %'),
  S: usual(0, 0.15, 'handbook, from memory'),
  Cr: usual(0, 0.3, 'handbook, from memory'),
  Pb: usual(0, 0.005, 'handbook, from memory'),
}

const recipe = {
  id: id('recipe', 'The recipe.'),
  revision: text('Its revision.', 32),
}
const afterTap = optional(
  whole('Done after this tap of the heat and before the next; 0 is before the first.', 0),
)

const recipeIssued = declare({
  type: 'melt.recipe-issued.v1',
  means: 'A charge recipe was given out in a revision.',
  fields: {
    recipe: record(recipe, 'The recipe and its revision.'),
    lines: lines(
      {
        material: text('What it is, as receipts name it.'),
        percent: percent('Part of the charge.'),
        low: optional(percent('Least allowed.')),
        high: optional(percent('Most allowed.')),
      },
      'What the charge is made of.',
    ),
    aim: optional(chemistry('What the heat is to come to.', IRON)),
  },
  subject: (data) => 'recipe:' + data.recipe.id,
  slot: (data) => slotOf(data.recipe.id, data.recipe.revision),
  slotMeans: 'recipe and revision',
  unusual(data) {
    const sum = data.lines.reduce((percent, line) => percent + line.percent.value, 0)
    return Math.abs(sum - 100) > 1 ? [`lines add to ${Number(sum.toPrecision(5))} %, not 100`] : []
  },
  facts: () => [],
  says: (data) => `Recipe ${data.recipe.id} was given out in revision ${data.recipe.revision}`,
})

const chargeWeighed = declare({
  type: 'melt.charge-weighed.v1',
  means: 'A charge was weighed together for a furnace.',
  fields: {
    charge: id('charge', 'The charge.'),
    recipe: optional(record(recipe, 'The recipe it follows.')),
    lines: lines(
      {
        of: ref(STORES, 'What it was drawn from.'),
        kg: kg('Of it.'),
        targetKg: optional(kg('What the recipe asked for.')),
        scale,
      },
      'What was weighed in.',
    ),
  },
  subject: (data) => 'charge:' + data.charge,
  slot: (data) => slotOf(data.charge),
  slotMeans: 'charge',
  unusual: (data) =>
    data.lines.flatMap(({ kg, targetKg }, i) =>
      targetKg && Math.abs(kg.value - targetKg.value) > 0.2 * targetKg.value
        ? [`lines[${i}].kg ${kg.value} is more than 20 % off the target ${targetKg.value}`]
        : [],
    ),
  facts(data, { at }) {
    const of = 'charge:' + data.charge
    const { recipe } = data
    return [
      ...data.lines.map((line) =>
        fact('charge-line', {
          of,
          at,
          other: line.of,
          ...weight(line.kg, line.scale),
          target: grams(line.targetKg),
        }),
      ),
      ...(recipe
        ? [fact('recipe-followed', { of, at, recipe: recipe.id, revision: recipe.revision })]
        : []),
    ]
  },
  says(data) {
    const kg = { value: data.lines.reduce((sum, line) => sum + line.kg.value, 0) }
    return `Weighed charge ${data.charge}: ${kgWords(kg)} in ${data.lines.length} lines`
  },
})

const chargePreheated = declare({
  type: 'melt.charge-preheated.v1',
  means: 'A charge was heated before melting.',
  fields: {
    charge: id('charge', 'The charge.'),
    celsius: celsius('How hot it became.', usual(100, 700, FREE)),
    minutes: optional(minutes('How long.')),
  },
  subject: (data) => 'charge:' + data.charge,
  slot: (data) => slotOf(data.charge),
  slotMeans: 'charge',
  facts(data, { at }) {
    const taken = { of: 'charge:' + data.charge, at }
    return [
      ...measured(taken, 'preheating temperature', 'CEL', data.celsius),
      ...measured(taken, 'preheating time', 'MIN', data.minutes),
    ]
  },
  says: (data) => `Preheated charge ${data.charge} to ${data.celsius.value} °C`,
})

const heatMelted = declare({
  type: 'melt.heat-melted.v1',
  means: 'Charges were melted on what the furnace kept.',
  fields: {
    heat: id('heat', 'The heat.'),
    furnace: id('furnace', 'The furnace.'),
    charges: lines(
      {
        charge: id('charge', 'A charge that went in.'),
        kg: optional(kg('Of it; absent: all that no other heat names.')),
        afterTap,
        at: optional(moment('When it went in.')),
      },
      'What went in; without afterTap, before the first tap.',
    ),
    fromEmpty: optional(flag('Whether the furnace was empty before.')),
    heelKg: optional(kg("Metal in the furnace just before this heat's first charge.")),
    celsius: optional(celsius('Temperature of the molten bath.', usual(1200, 1600, FREE))),
    startedAt: optional(moment('Charging began.')),
    endedAt: optional(moment('Ready to tap.')),
    kWh: optional(kWh('Energy used.')),
  },
  subject: (data) => 'heat:' + data.heat,
  slot: (data) => slotOf(data.heat),
  slotMeans: 'heat',
  impossible: (data) =>
    data.fromEmpty && data.heelKg && data.heelKg.value > 0
      ? [impossible('heelKg', 'is over 0 although fromEmpty is true', 'Leave out one of the two')]
      : [],
  facts(data, context) {
    const of = 'heat:' + data.heat
    const via = 'furnace:' + data.furnace
    const at = data.startedAt ?? context.at
    const taken = { of, at: data.endedAt ?? context.at }
    return [
      fact('heat-begun', {
        of,
        at,
        via,
        fromEmpty: data.fromEmpty,
        heel: grams(data.heelKg),
        heelSpread: gramSpread(data.heelKg),
        until: data.endedAt,
        sequence: context.sequence,
      }),
      ...data.charges.map((line) =>
        fact('heat-charged', {
          of,
          at: line.at ?? at,
          other: 'charge:' + line.charge,
          via,
          ...weight(line.kg),
          afterTap: line.afterTap,
        }),
      ),
      ...measured(taken, 'bath temperature', 'CEL', data.celsius),
      ...measured(taken, 'energy', 'KWH', data.kWh),
    ]
  },
  says: (data) =>
    `Melted heat ${data.heat} in furnace ${data.furnace} from charge ` +
    listWords(data.charges.map((line) => line.charge)),
})

const heatAlloyed = declare({
  type: 'melt.heat-alloyed.v1',
  means: 'Something was put into the bath of a furnace.',
  fields: {
    heat: id('heat', 'The heat.'),
    furnace: id('furnace', 'The furnace.'),
    additions: heatAdditions,
    afterTap,
  },
  subject: (data) => 'heat:' + data.heat,
  facts(data, { at, station }) {
    const of = 'heat:' + data.heat
    const { into, onto } = split(data.additions)
    return [
      ...into.map((addition) =>
        fact('heat-added', {
          of,
          at,
          other: addition.of,
          via: 'furnace:' + data.furnace,
          ...weight(addition.kg, addition.scale),
          afterTap: data.afterTap,
        }),
      ),
      ...touched({ of, at, station }, onto),
    ]
  },
  says: (data) =>
    `Added ${listWords(data.additions.map((line) => `${kgWords(line.kg)} of ${thingWords(line.of)}`))} ` +
    `to heat ${data.heat}`,
})

const heatSampled = declare({
  type: 'melt.heat-sampled.v1',
  means: 'A sample of a heat was analyzed.',
  fields: {
    heat: id('heat', 'The heat.'),
    sample: id('sample', 'The sample.'),
    of: optional(ref(['ladle', 'furnace'], 'Where it was taken from.')),
    takenAt: optional(moment('Taken.')),
    chemistry: chemistry('What it holds.', IRON),
    burns: optional(whole('Burns the values are the mean of.')),
    liquidusCelsius: optional(
      celsius('Liquidus read from the cooling curve.', usual(1120, 1260, FREE)),
    ),
    method: optional(
      choice(['spark', 'thermal-cup', 'combustion', 'wet', 'x-ray'], 'How it was analyzed.'),
    ),
    instrument: optional(id('instrument', 'The instrument.')),
    afterTap,
    kept: optional(text('Where the coin lies.')),
  },
  subject: (data) => 'heat:' + data.heat,
  slot: (data) => slotOf(data.heat, data.sample),
  slotMeans: 'heat and sample',
  facts(data, context) {
    // A sample of the bath says what the heat is; one of a ladle says what that filling is.
    const of = data.of?.startsWith('ladle:') ? data.of : 'heat:' + data.heat
    const { instrument, method, afterTap } = data
    const taken = { of, at: data.takenAt ?? context.at, instrument, method, afterTap }
    return [
      ...measuredChemistry(taken, data.chemistry),
      ...measured(taken, 'liquidus', 'CEL', data.liquidusCelsius),
    ]
  },
  says: (data) =>
    `Sample ${data.sample} of heat ${data.heat}: ` +
    listWords(
      Object.entries(data.chemistry).map(([symbol, part]) => `${symbol} ${part?.value} %`),
      5,
    ),
})

const heatTapped = declare({
  type: 'melt.heat-tapped.v1',
  means: 'Metal was tapped from a furnace into a ladle.',
  fields: {
    heat: id('heat', 'The heat.'),
    furnace: id('furnace', 'The furnace.'),
    ladle: id('ladle', 'This filling of a ladle.'),
    ladleNo: optional(text('The ladle itself.', 64)),
    tap: optional(whole('Number of the tap of this heat, from 1.')),
    kg: kg('Tapped.'),
    celsius: optional(celsius('Temperature at the tap.', usual(1350, 1580, FREE))),
    ladleHeelKg: optional(
      kg(
        'What the ladle still held of its former filling; 0 must be said, absent it is not known.',
      ),
    ),
    scale,
  },
  subject: (data) => 'ladle:' + data.ladle,
  slot: (data) => slotOf(data.heat, data.ladle),
  slotMeans: 'heat and ladle',
  facts(data, { at }) {
    const of = 'ladle:' + data.ladle
    return [
      fact('ladle-tapped', {
        of,
        at,
        other: 'heat:' + data.heat,
        via: 'furnace:' + data.furnace,
        ...weight(data.kg, data.scale),
        tap: data.tap,
        steel: data.ladleNo,
        heel: grams(data.ladleHeelKg),
        heelSpread: gramSpread(data.ladleHeelKg),
      }),
      ...measured({ of, at }, 'tapping temperature', 'CEL', data.celsius),
    ]
  },
  says: (data) =>
    `Tapped ${kgWords(data.kg)} of heat ${data.heat} from furnace ${data.furnace} into ladle ${data.ladle}`,
})

const metalMoved = declare({
  type: 'melt.metal-moved.v1',
  means: 'Metal was moved from one vessel to another, into a lot of pigs, or onto the floor.',
  fields: {
    outOf: ref(['furnace', 'ladle'], 'Where from.'),
    into: refOr(['floor'], ['furnace', 'ladle', 'lot'], 'Where to.'),
    heat: optional(id('heat', 'The heat that receives it.')),
    afterTap,
    kg: kg('Moved.'),
    scale,
    startedAt: optional(moment('Began.')),
    endedAt: optional(moment('Ended.')),
    celsius: optional(celsius('Temperature of the metal.', usual(1150, 1600, FREE))),
    reason: choice(['transfer', 'return', 'pig', 'drain', 'spill'], 'Why.'),
  },
  subject: (data) => data.outOf,
  impossible: (data) =>
    data.into === data.outOf
      ? [impossible('into', 'is where the metal came from', 'Name where it went')]
      : [],
  unusual: (data, { machine }) =>
    data.into.startsWith('furnace:') && machine && data.into !== 'furnace:' + machine
      ? [`into ${data.into} is reported by ${machine}; a furnace reports what it receives`]
      : [],
  facts(data, context) {
    const at = data.endedAt ?? context.at
    const { outOf, into, reason } = data
    return [
      into === 'floor'
        ? fact('metal-spilled', { of: outOf, at, amount: grams(data.kg), reason })
        : fact('metal-moved', {
            of: into,
            at,
            other: outOf,
            ...weight(data.kg, data.scale),
            afterTap: data.afterTap,
            reason,
            via: data.heat && 'heat:' + data.heat,
          }),
      ...measured({ of: outOf, at }, 'metal temperature', 'CEL', data.celsius),
    ]
  },
  says: (data) =>
    `Moved ${kgWords(data.kg)} from ${thingWords(data.outOf)} to ` +
    `${data.into === 'floor' ? 'the floor' : thingWords(data.into)} (${data.reason})`,
})

const furnaceEmptied = declare({
  type: 'melt.furnace-emptied.v1',
  means: 'A furnace was emptied.',
  fields: {
    furnace: id('furnace', 'The furnace.'),
    kgLeft: optional(kg('What stayed in it; absent: nothing.')),
    reason: choice(['drained', 'relined', 'patched', 'cold'], 'Why.'),
    lining: optional(ref(['lot'], 'The lot of lining put in.')),
  },
  subject: (data) => 'furnace:' + data.furnace,
  facts(data, { at, station }) {
    const of = 'furnace:' + data.furnace
    return [
      fact('furnace-emptied', {
        of,
        at,
        amount: grams(data.kgLeft) ?? 0,
        spread: gramSpread(data.kgLeft),
        reason: data.reason,
      }),
      ...touched({ of, at, station }, data.lining ? [{ of: data.lining }] : [], 'lining'),
    ]
  },
  says: (data) => `Furnace ${data.furnace} was emptied (${data.reason})`,
})

const ladleTreated = declare({
  type: 'melt.ladle-treated.v1',
  means: 'Something was put into the metal of a ladle.',
  fields: {
    ladle: id('ladle', 'The filling.'),
    additions: ladleAdditions,
  },
  subject: (data) => 'ladle:' + data.ladle,
  facts(data, { at, station }) {
    const of = 'ladle:' + data.ladle
    const { into, onto } = split(data.additions)
    return [
      ...into.map((addition) =>
        fact('ladle-added', {
          of,
          at,
          other: addition.of,
          ...weight(addition.kg, addition.scale),
          purpose: addition.purpose ?? 'other',
        }),
      ),
      ...touched({ of, at, station }, onto),
    ]
  },
  says: (data) =>
    `Treated ladle ${data.ladle} with ` +
    listWords(data.additions.map((line) => `${kgWords(line.kg)} of ${thingWords(line.of)}`)),
})

const ladleSlagged = declare({
  type: 'melt.ladle-slagged.v1',
  means: 'Slag was taken off a ladle.',
  fields: {
    ladle: id('ladle', 'The filling.'),
    pass: whole('Which time, from 1.'),
  },
  subject: (data) => 'ladle:' + data.ladle,
  slot: (data) => slotOf(data.ladle, data.pass),
  slotMeans: 'ladle and pass',
  facts: (data, { at }) => [
    fact('ladle-slagged', { of: 'ladle:' + data.ladle, at, pass: data.pass }),
  ],
  says: (data) => `Took slag off ladle ${data.ladle}, pass ${data.pass}`,
})

export const MELT = [
  recipeIssued,
  chargeWeighed,
  chargePreheated,
  heatMelted,
  heatAlloyed,
  heatSampled,
  heatTapped,
  metalMoved,
  furnaceEmptied,
  ladleTreated,
  ladleSlagged,
]
