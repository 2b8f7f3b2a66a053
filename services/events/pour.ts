// The pour station: unbroken runs of molds poured from one filling of a ladle.
import { ladleAdditions, split, touched } from './consumed.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { celsius, id, kg, lines, moment, optional, usual, whole } from './field.ts'
import { line, runOfMolds, series } from './line.ts'
import { grams, measured, weight } from './measure.ts'
import { impossible, type Problem } from './problem.ts'

const HOT = usual(1380, 1450, 'handbook for walls of 3 to 6 mm, from memory')

const moldsPoured = declare({
  type: 'pour.molds-poured.v1',
  means: 'Consecutive molds were poured from one filling, without a break.',
  fields: {
    pour: id('pour', 'The run.'),
    ladle: optional(id('ladle', 'The filling it was poured from.')),
    furnace: optional(id('furnace', 'The furnace, where it was poured without a ladle.')),
    line,
    series,
    ...runOfMolds,
    celsius: optional(celsius('Pouring temperature.', HOT)),
    temperatures: optional(
      lines(
        { at: moment('When.'), celsius: celsius('Temperature of the metal.', HOT) },
        'Temperatures along the run.',
      ),
    ),
    additions: optional(ladleAdditions),
    toppedUp: optional(
      lines(
        {
          mold: whole('The mold from which on the other filling is in it.'),
          ladle: id('ladle', 'The filling poured to it.'),
          kg: optional(kg('Of it.')),
        },
        'Other fillings put to this one during the run.',
      ),
    ),
    kg: optional(kg('Metal poured.')),
    kgPerMold: optional(kg('Metal of one mold.')),
    startedAt: moment('The first mold was begun.'),
    endedAt: moment('The last mold was full.'),
  },
  subject: (data) => 'pour:' + data.pour,
  slot: (data) => slotOf(data.pour),
  slotMeans: 'pour',
  impossible(data) {
    const problems: Problem[] = []
    if (data.ladle !== undefined && data.furnace !== undefined) {
      const fix = 'Name the one it was poured from'
      problems.push(impossible('furnace', 'is given beside ladle', fix))
    }
    for (const [i, { mold }] of (data.toppedUp ?? []).entries()) {
      if (mold >= data.first && mold <= data.last) continue
      const fix = `Give ${data.first} to ${data.last}`
      problems.push(impossible(`toppedUp[${i}].mold`, 'is not of this run', fix))
    }
    return problems
  },
  facts(data, { station, offsetMinutes }) {
    const of = 'pour:' + data.pour
    const at = data.endedAt
    const { into, onto } = split(data.additions)
    const from = data.ladle !== undefined ? 'ladle:' + data.ladle : undefined
    return [
      fact('poured', {
        of,
        at,
        via: 'line:' + data.line,
        amount: grams(data.kg),
        moldGrams: grams(data.kgPerMold),
        from: data.startedAt,
        offsetMinutes,
        other: from ?? (data.furnace && 'furnace:' + data.furnace),
        first: data.first,
        last: data.last,
        series: data.series,
      }),
      ...into.map((addition) =>
        fact('pour-added', {
          of,
          at,
          other: addition.of,
          ...weight(addition.kg, addition.scale),
        }),
      ),
      ...touched({ of, at, station }, onto),
      ...(data.toppedUp ?? []).map(({ mold, ladle, kg }) =>
        fact('topped-up', { of, at, other: 'ladle:' + ladle, mold, amount: grams(kg) }),
      ),
      ...measured({ of, at }, 'pouring temperature', 'CEL', data.celsius),
      ...(data.temperatures ?? []).flatMap((reading) =>
        measured({ of, at: reading.at }, 'pouring temperature', 'CEL', reading.celsius),
      ),
    ]
  },
  says: (data) =>
    `Poured molds ${data.first} to ${data.last} on line ${data.line}` +
    (data.ladle
      ? ` from ladle ${data.ladle}`
      : data.furnace
        ? ` from furnace ${data.furnace}`
        : ''),
})

export const POUR = [moldsPoured]
