// The inspect station: castings looked at, readings, instruments, complaints.
import { declare, fact, slotOf } from './event-type.ts'
import { STATIONS, THINGS } from './fact.ts'
import {
  castings,
  choice,
  figure,
  flag,
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

const CASTINGS = ['molds', 'pour', 'load', 'tote', 'pack', 'pan', 'lot', 'return'] as const
const product = optional(text('What is cast.', 64))
const cavity = optional(text('The place on the plate.', 64))
const defect = text('The defect, as the plant codes it.', 64)

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

const complaintReceived = declare({
  type: 'inspect.complaint-received.v1',
  means: 'Somebody complained about castings; nothing here may tell who the consumer is.',
  fields: {
    complaint: id('complaint', 'The complaint.'),
    marks: optional(
      lines(
        {
          place: choice(['iron', 'carton', 'pallet', 'serial'], 'Where it stands.'),
          text: text('As read; ? for a sign nobody can read.'),
        },
        'The marks that could be read.',
      ),
    ),
    product,
    cavity,
    castings: optional(castings('How many.')),
    defect: optional(defect),
    words: optional(text('What was said.', 2000)),
    receivedAt: moment('When it came.'),
    boughtOn: optional(text('When it was bought, as said.', 40)),
    evidence: optional(choice(['piece', 'photo', 'words'], 'What there is to go by.')),
    injury: optional(flag('Somebody was hurt.')),
    customer: optional(text('The customer it was sold through, as a code.', 64)),
  },
  subject: (data) => 'complaint:' + data.complaint,
  slot: (data) => slotOf(data.complaint),
  slotMeans: 'complaint',
  impossible(data) {
    if (!data.words || !PERSONAL.test(data.words)) return []
    const fix = 'Leave it out: the record cannot be erased. Marks go under marks'
    return [impossible('words', 'hold a mail address or a telephone number', fix)]
  },
  facts: (data) => [
    fact('complained', {
      of: 'complaint:' + data.complaint,
      at: data.receivedAt,
      marks: data.marks?.map((mark) => mark.text) ?? [],
      product: data.product,
      cavity: data.cavity,
      amount: data.castings?.value,
      defect: data.defect,
      customer: data.customer,
      evidence: data.evidence,
      injury: data.injury ?? false,
    }),
  ],
  says: (data) =>
    `Complaint ${data.complaint}` +
    (data.defect ? ` about ${data.defect}` : '') +
    (data.product ? ` on ${data.product}` : ''),
})
/** A mail address, or nine digits in a row as telephone numbers are written. */
const PERSONAL = /\S@\S+\.\S|(?:\d[ ()./-]{0,2}){9}/

const complaintExamined = declare({
  type: 'inspect.complaint-examined.v1',
  means: 'A complaint was examined.',
  fields: {
    complaint: id('complaint', 'The complaint.'),
    defect,
    confirmed: flag('The defect is there.'),
    of: optional(ref(CASTINGS, 'What the casting was found to be of.')),
  },
  subject: (data) => 'complaint:' + data.complaint,
  slot: (data, { at }) => slotOf(data.complaint, at),
  slotMeans: 'complaint and time',
  facts: (data, { at }) => [
    fact('complaint-examined', {
      of: 'complaint:' + data.complaint,
      other: data.of,
      at,
      defect: data.defect,
      confirmed: data.confirmed,
    }),
  ],
  says: (data) =>
    `Examined complaint ${data.complaint}: ${data.defect} ${data.confirmed ? '' : 'not '}confirmed`,
})

export const INSPECT = [
  castingsInspected,
  readingTaken,
  instrumentChecked,
  complaintReceived,
  complaintExamined,
]
