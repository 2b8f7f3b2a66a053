// The inspect station: castings looked at, readings, instruments. Complaints are in complaint.ts.
import { CASTINGS, COMPLAINTS, cavity, defect, product } from './complaint.ts'
import { declare, fact, slotOf } from './event-type.ts'
import { STATIONS, THINGS } from './fact.ts'
import {
  castings,
  choice,
  figure,
  id,
  lines,
  list,
  moment,
  optional,
  record,
  ref,
  text,
  unitCode,
} from './field.ts'
import { measured } from './measure.ts'
import { impossible, type Problem } from './problem.ts'
import { KEPT, keptOf } from './units.ts'
import { castingWords, listWords, thingWords } from './words.ts'

const castingsInspected = declare({
  type: 'inspect.castings-inspected.v1',
  means: 'Castings were looked at.',
  fields: {
    inspection: id('inspection', 'The inspection.'),
    of: optional(list(ref(CASTINGS, 'A thing.'), 'What was looked at.')),
    window: optional(
      record(
        {
          line: optional(id('line', 'Of this line.')),
          station: optional(choice(STATIONS, 'After this station.')),
          product,
          startedAt: moment('From.'),
          endedAt: moment('To.'),
        },
        'What was looked at, where only place and time are known.',
      ),
    ),
    stage: text('After which step, as the plant names it.', 64),
    castings: castings('Looked at.'),
    presented: optional(castings('There to be looked at.')),
    plan: optional(choice(['all', 'sample', 'audit'], 'How they were chosen.')),
    defective: optional(castings('With at least one defect.')),
    product,
    inspector: optional(id('person', 'Who looked, as a code.')),
    defects: lines(
      {
        defect,
        castings: castings('With it.'),
        cavity,
        fate: optional(choice(['scrap', 'rework', 'accept', 'hold'], 'What becomes of them.')),
      },
      'What was found; an empty list when nothing was.',
      0,
    ),
  },
  subject: (data) => 'inspection:' + data.inspection,
  slot: (data) => slotOf(data.inspection),
  slotMeans: 'inspection',
  impossible(data) {
    const problems: Problem[] = []
    const looked = data.castings.value
    const most = data.defective?.value ?? looked
    if (data.of && data.window) {
      problems.push(impossible('window', 'is given beside of', 'Give the one that is known better'))
    }
    if (data.defective && data.defective.value > looked) {
      problems.push(impossible('defective', 'is more than were looked at', 'Check both counts'))
    }
    if (data.presented && data.presented.value < looked) {
      problems.push(impossible('presented', 'is fewer than were looked at', 'Check both counts'))
    }
    for (const [i, found] of data.defects.entries()) {
      if (found.castings.value <= most) continue
      const problem = `is more than the ${most} that can have it`
      problems.push(impossible(`defects[${i}].castings`, problem, 'Check the counts'))
    }
    return problems
  },
  unusual(data) {
    const found = data.defects.reduce((sum, { castings }) => sum + castings.value, 0)
    const flags: string[] = []
    if (data.defective && found < data.defective.value) {
      flags.push(`defects account for ${found} of ${data.defective.value} defective castings`)
    }
    if (!data.of && !data.window) flags.push('neither of nor window says which castings these were')
    return flags
  },
  facts(data, { at }) {
    const line = data.window?.line
    const things = data.of ?? (line === undefined ? [] : ['line:' + line])
    const { inspection, stage } = data
    const made = data.product ?? data.window?.product
    return things.flatMap((of) => [
      fact('inspected', {
        of,
        at,
        inspection,
        stage,
        castings: data.castings.value,
        defective: data.defective?.value,
        plan: data.plan,
        product: made,
        from: data.window?.startedAt,
        until: data.window?.endedAt,
      }),
      ...data.defects.map((found) =>
        fact('defect-found', {
          of,
          at,
          inspection,
          stage,
          defect: found.defect,
          castings: found.castings.value,
          cavity: found.cavity,
          fate: found.fate,
          product: made,
        }),
      ),
    ])
  },
  says: (data) =>
    `Looked at ${castingWords(data.castings)} (${data.stage})` +
    (data.defects.length > 0
      ? ` and found ${listWords(data.defects.map((found) => `${found.castings.value} with ${found.defect}`))}`
      : ' and found nothing'),
})

const readingTaken = declare({
  type: 'inspect.reading-taken.v1',
  means: 'Something was measured.',
  fields: {
    of: optional(ref(THINGS, 'What was measured.')),
    station: optional(choice(STATIONS, 'Where.')),
    machine: optional(id('machine', 'On which machine.')),
    takenAt: moment('When.'),
    readings: lines(
      {
        quantity: text('What was measured, such as hardness.', 64),
        value: figure('The number.'),
        unit: unitCode('Its unit, UN/CEFACT Recommendation 20; C62 where it has none.'),
        method: optional(text('By what method.', 64)),
        instrument: optional(id('instrument', 'With which instrument.')),
      },
      'The readings.',
    ),
  },
  subject: (data) => data.of ?? (data.machine && 'machine:' + data.machine),
  unusual: (data) =>
    data.of || data.machine || data.station
      ? []
      : ['none of of, machine and station says what was measured'],
  facts(data) {
    const { of } = data
    if (of === undefined) return []
    return data.readings.flatMap(({ quantity, value, unit, instrument }) => {
      const kept = keptOf(value, unit)
      return measured(
        { of, at: data.takenAt, instrument },
        quantity,
        KEPT[kept.measure],
        kept.value,
      )
    })
  },
  says: (data) =>
    `Measured ${listWords(data.readings.map(({ quantity, value, unit }) => `${quantity} ${value.value} ${unit}`))}` +
    (data.of ? ` on ${thingWords(data.of)}` : ''),
})

const instrumentChecked = declare({
  type: 'inspect.instrument-checked.v1',
  means: 'An instrument was checked against a reference.',
  fields: {
    instrument: id('instrument', 'The instrument.'),
    readings: lines(
      {
        quantity: text('What was measured.', 64),
        reference: figure('What it truly is.'),
        read: figure('What the instrument read.'),
        unit: unitCode('Unit of both, UN/CEFACT Recommendation 20.'),
      },
      'The readings.',
    ),
    action: choice(['none', 'adjusted', 'replaced'], 'What was done.'),
    goodSince: optional(moment('Since when its readings are taken as good.')),
  },
  subject: (data) => 'instrument:' + data.instrument,
  facts: () => [],
  says: (data) => `Checked instrument ${data.instrument}; action: ${data.action}`,
})

export const INSPECT = [castingsInspected, readingTaken, instrumentChecked, ...COMPLAINTS]
