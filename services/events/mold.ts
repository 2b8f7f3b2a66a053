// The mold station: patterns on their lines, sand, runs of molds and what became of them.
import { materials, STORES, touched } from './consumed.ts'
import { declare, fact, slotOf } from './event-type.ts'
import {
  castings,
  celsius,
  choice,
  flag,
  id,
  kg,
  kPa,
  lines,
  moment,
  number,
  optional,
  percent,
  ref,
  text,
  usual,
  whole,
} from './field.ts'
import { line, runOfMolds, series } from './line.ts'
import { grams, measured } from './measure.ts'
import { impossible } from './problem.ts'
import { listWords } from './words.ts'

const GREEN_SAND = 'high-density green sand for thin gray iron: general practice, from memory'

const pattern = text('The pattern.', 64)

const patternMounted = declare({
  type: 'mold.pattern-mounted.v1',
  means: 'A pattern was mounted on a line.',
  fields: {
    line,
    series,
    pattern,
    cavities: lines(
      {
        cavity: text('The place on the plate, as marked in the iron.', 64),
        product: text('What it casts.', 64),
        castingKg: optional(kg('Mass of one casting.')),
        mark: optional(text('The mark it leaves in the iron.')),
        blocked: optional(flag('Blanked off: nothing is cast there.')),
      },
      'The places of the plate.',
    ),
    pouredKg: optional(kg('Metal of one mold, gates included.')),
    fromMold: optional(whole('The first mold made with it.')),
  },
  subject: (data) => 'line:' + data.line,
  slot: (data, { at }) => slotOf(data.line, at),
  slotMeans: 'line and time',
  impossible(data) {
    const names = data.cavities.map(({ cavity }) => cavity)
    const twice = names.find((name, i) => names.indexOf(name) !== i)
    if (twice === undefined) return []
    return [impossible('cavities', `name ${twice} twice`, 'Give each place its own name')]
  },
  unusual(data) {
    const cast = data.cavities.filter((cavity) => !cavity.blocked)
    const sum = cast.reduce((kg, cavity) => kg + (cavity.castingKg?.value ?? 0), 0)
    if (!data.pouredKg || sum <= data.pouredKg.value) return []
    return [`pouredKg ${data.pouredKg.value} is less than its castings weigh together`]
  },
  facts: (data, { at }) => [
    fact('pattern-mounted', {
      of: 'line:' + data.line,
      at,
      pattern: data.pattern,
      cavities: data.cavities.map(({ castingKg, ...cavity }) =>
        castingKg ? { ...cavity, castingGrams: grams(castingKg) } : cavity,
      ),
      series: data.series,
      moldGrams: grams(data.pouredKg),
      fromMold: data.fromMold,
    }),
  ],
  says: (data) =>
    `Mounted pattern ${data.pattern} on line ${data.line}, for ` +
    listWords([...new Set(data.cavities.map(({ product }) => product))]),
})

const sandMulled = declare({
  type: 'mold.sand-mulled.v1',
  means: 'A batch of molding sand was mulled.',
  fields: {
    sand: id('sand', 'The batch.'),
    lines: optional(
      lines(
        { of: ref(STORES, 'What it was drawn from.'), kg: optional(kg('Of it.')) },
        'What was new.',
      ),
    ),
    returnSandKg: optional(kg('Sand used before.')),
    returnFrom: optional(ref(['bin'], 'Where that came from.')),
    into: optional(ref(['bin'], 'Where the batch went.')),
    moisturePercent: optional(percent('Moisture.', usual(2.8, 3.5, GREEN_SAND))),
    compactabilityPercent: optional(percent('Compactability.', usual(36, 44, GREEN_SAND))),
    greenStrengthKPa: optional(kPa('Green compression strength.', usual(140, 220, GREEN_SAND))),
    celsius: optional(celsius('Temperature of the sand.', usual(5, 50, GREEN_SAND))),
  },
  subject: (data) => 'sand:' + data.sand,
  slot: (data) => slotOf(data.sand),
  slotMeans: 'sand',
  facts(data, { at, station }) {
    const of = 'sand:' + data.sand
    const taken = { of, at }
    return [
      fact('sand-mulled', {
        of,
        at,
        returnGrams: grams(data.returnSandKg),
        via: data.returnFrom,
      }),
      ...touched({ of, at, station }, data.lines, 'mulled'),
      ...(data.into ? [fact('sand-stored', { of, at, via: data.into })] : []),
      ...measured(taken, 'moisture', 'P1', data.moisturePercent),
      ...measured(taken, 'compactability', 'P1', data.compactabilityPercent),
      ...measured(taken, 'green strength', 'KPA', data.greenStrengthKPa),
      ...measured(taken, 'sand temperature', 'CEL', data.celsius),
    ]
  },
  says: (data) => `Mulled sand ${data.sand}`,
})

const moldsMade = declare({
  type: 'mold.molds-made.v1',
  means: 'A run of consecutive molds was made.',
  fields: {
    molds: id('molds', 'The run.'),
    line,
    series,
    pattern,
    sand: optional(id('sand', 'The batch of sand.')),
    ...runOfMolds,
    squeezeKPa: optional(
      kPa('Squeeze pressure at the mold face.', usual(200, 1500, 'common practice, no source')),
    ),
    moldsPerHour: optional(number('Molds made in an hour.', 0, 10_000)),
    materials,
    startedAt: moment('The first mold was begun.'),
    endedAt: moment('The last mold was closed.'),
  },
  subject: (data) => 'molds:' + data.molds,
  slot: (data) => slotOf(data.molds),
  slotMeans: 'molds',
  facts(data, { station }) {
    const of = 'molds:' + data.molds
    const at = data.endedAt
    const rate = data.moldsPerHour === undefined ? undefined : { value: data.moldsPerHour }
    return [
      fact('molds-made', {
        of,
        at,
        via: 'line:' + data.line,
        pattern: data.pattern,
        other: data.sand && 'sand:' + data.sand,
        from: data.startedAt,
        first: data.first,
        last: data.last,
        series: data.series,
      }),
      ...touched({ of, at, station }, data.materials),
      ...measured({ of, at }, 'squeeze pressure', 'KPA', data.squeezeKPa),
      ...measured({ of, at }, 'molds in an hour', 'C62', rate),
    ]
  },
  says: (data) =>
    `Made molds ${data.first} to ${data.last} of pattern ${data.pattern} on line ${data.line}`,
})

const moldsLost = declare({
  type: 'mold.molds-lost.v1',
  means: 'Molds came to nothing.',
  fields: {
    line,
    series,
    ...runOfMolds,
    fate: choice(['unpoured', 'broken', 'run-out', 'short', 'dumped'], 'What became of them.'),
    kg: optional(kg('Metal lost with them.')),
    castingsKept: optional(castings('Castings saved all the same.')),
  },
  subject: (data) => 'line:' + data.line,
  facts: (data, { at }) => [
    fact('molds-lost', {
      of: 'line:' + data.line,
      at,
      fate: data.fate,
      castingsKept: data.castingsKept?.value,
      first: data.first,
      last: data.last,
      series: data.series,
    }),
  ],
  says: (data) => `Lost molds ${data.first} to ${data.last} on line ${data.line} (${data.fate})`,
})

const lineStopped = declare({
  type: 'mold.line-stopped.v1',
  means: 'A line stood still.',
  fields: {
    line,
    startedAt: moment('It stopped.'),
    endedAt: moment('It went on.'),
    reason: optional(text('Why.')),
  },
  subject: (data) => 'line:' + data.line,
  facts: (data) => [
    fact('line-stopped', {
      of: 'line:' + data.line,
      at: data.endedAt,
      from: data.startedAt,
      reason: data.reason,
    }),
  ],
  says: (data) =>
    `Line ${data.line} stood for ${Math.round((data.endedAt - data.startedAt) / 60_000)} minutes` +
    (data.reason ? `: ${data.reason}` : ''),
})

export const MOLD = [patternMounted, sandMulled, moldsMade, moldsLost, lineStopped]
