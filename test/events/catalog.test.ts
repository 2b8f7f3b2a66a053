import { describe, expect, it } from 'vitest'
import {
  claimOf,
  describeReport,
  EVENT_TYPES,
  factsOf,
  read,
} from '../../services/events/catalog.ts'
import { HOWS } from '../../services/events/fact.ts'
import type { Fields } from '../../services/events/field.ts'
import { PROJECTION_VERSION } from '../../services/events/projection-version.ts'
import type { JsonObject } from '../../services/events/statement.ts'
import { accepted, atDoor, event, GOLDENS, inLog, tap } from './example.ts'

/** Which statements share a slot; null where every statement counts. */
const SLOTS: Record<string, string | null> = {
  'receive.lot-received': 'lot',
  'receive.returns-collected': null,
  'receive.bin-filled': null,
  'receive.bin-set': null,
  'melt.recipe-issued': 'recipe and revision',
  'melt.charge-weighed': 'charge',
  'melt.charge-preheated': 'charge',
  'melt.heat-melted': 'heat',
  'melt.heat-alloyed': null,
  'melt.heat-sampled': 'heat and sample',
  'melt.heat-tapped': 'heat and ladle',
  'melt.metal-moved': null,
  'melt.furnace-emptied': null,
  'melt.ladle-treated': null,
  'melt.ladle-slagged': 'ladle and pass',
  'mold.pattern-mounted': 'line and time',
  'mold.sand-mulled': 'sand',
  'mold.molds-made': 'molds',
  'mold.molds-lost': null,
  'mold.line-stopped': null,
  'pour.molds-poured': 'pour',
  'clean.castings-shaken-out': 'load',
  'clean.load-tumbled': 'load',
  'clean.load-blasted': 'load',
  'clean.load-ground': 'load',
  'clean.load-washed': 'load',
  'clean.load-dried': 'load',
  'clean.load-sorted': 'load',
  'season.load-oiled': 'load',
  'season.load-baked': 'load',
  'season.load-stripped': 'load',
  'inspect.castings-inspected': 'inspection',
  'inspect.reading-taken': null,
  'inspect.instrument-checked': null,
  'inspect.complaint-received': 'complaint',
  'inspect.complaint-examined': 'complaint and time',
  'inspect.caller-called-back': 'complaint',
  'ship.pans-packed': 'pack',
  'ship.packs-repacked': null,
  'ship.packs-shipped': 'shipment',
  'ship.castings-returned': 'return',
  'ship.stock-counted': null,
  'quality.limits-set': 'of, quantity and from',
  'quality.machine-changed': null,
  'quality.hold-placed': 'hold',
  'quality.hold-released': 'hold',
  'quality.recall-opened': 'recall',
  'quality.recall-closed': 'recall',
  'quality.disposition-recorded': null,
  'quality.drill-started': 'drill',
  'quality.drill-ended': 'drill',
  'quality.call-given': 'recall and customer',
  'quality.recall-answered': null,
  'quality.customer-told': 'recall and customer',
  'quality.record-corrected': 'event',
  'quality.record-voided': 'event',
}

describe('The catalogue', () => {
  it('is the closed list of what a plant may say', () => {
    expect(EVENT_TYPES.map(({ base }) => base)).toEqual(Object.keys(SLOTS))
  })

  it('gives a slot to those of which one counts, and none to those that add', () => {
    const slotted = new Map(
      GOLDENS.map(([, { event, claim }]) => [event.type.replace(/\.v1$/, ''), claim.slot]),
    )
    for (const [base, slot] of Object.entries(SLOTS)) {
      // What a decision on the record counts for is the slot of the event it decides on.
      if (base.startsWith('quality.record-')) continue
      expect([base, slotted.get(base) === undefined]).toEqual([base, slot === null])
    }
  })

  it('says in one sentence what every type and field means', () => {
    for (const { type, means, fields } of EVENT_TYPES) {
      for (const sentence of [means, ...meanings(fields)]) {
        expect(sentence, type).toMatch(/^[A-Z?].*\.$/)
      }
    }
  })

  it('has a version that is a hash', () => {
    expect(PROJECTION_VERSION).toMatch(/^[0-9a-f]{64}$/)
  })
})

describe('A claim', () => {
  it('tells slots of two plants apart', () => {
    const source = 'https://events.other.example/plant/other/melt/F1'
    const [here, there] = [tap(), tap({}, { source })].map((sent) => {
      const { statement, data } = accepted(atDoor(sent))
      return claimOf(statement, data).slot
    })
    expect(here).not.toBe(there)
  })

  it('ranks an absent entry as scan', () => {
    const rank = (attributes: JsonObject) => {
      const { statement, data } = accepted(atDoor(tap({}, attributes)))
      return claimOf(statement, data).rank
    }
    expect([{ entry: 'hand' }, {}, { entry: 'scan' }, { entry: 'machine' }].map(rank)).toEqual([
      0, 1, 1, 2,
    ])
  })

  it('joins the superseded event under its own source', () => {
    const { statement, data } = accepted(atDoor(tap({}, { supersedes: 'tap-0' })))
    expect(claimOf(statement, data)).toMatchObject({
      joins: { source: statement.source, id: 'tap-0' },
      about: 'melt.heat-tapped ladle:L1',
      void: false,
    })
  })
})

describe('A correction by quality', () => {
  const corrected = accepted(atDoor(tap({}, { entry: 'machine', sequence: 9 }))).statement
  const named = {
    source: corrected.source,
    id: corrected.id,
    type: corrected.type,
    subject: corrected.subject!,
    time: corrected.time,
  }
  const data = { ...corrected.entered, kg: 870 }
  const correct = (more: JsonObject = {}, of: JsonObject = {}) =>
    event('quality.record-corrected.v1', {
      event: { ...named, ...of },
      data,
      reason: 'zero of the scale',
      by: 'q3',
      ...more,
    })

  it('comes to the facts its event would have come to with the new data', () => {
    const right = accepted(atDoor(tap({ kg: 870 })))
    const decision = accepted(atDoor(correct()))
    expect(factsOf(decision.statement, decision.data)).toEqual(factsOf(right.statement, right.data))
  })

  it('claims what its event would claim, joined to it', () => {
    const right = accepted(atDoor(tap({ kg: 870 })))
    const claim = claimOf(right.statement, right.data)
    const decision = accepted(atDoor(correct()))
    expect(claimOf(decision.statement, decision.data)).toMatchObject({
      about: claim.about,
      slot: claim.slot,
      joins: { source: corrected.source, id: corrected.id },
      source: decision.statement.source,
      id: decision.statement.id,
      void: false,
    })
  })

  it("of a pour keeps the clock of its station, whatever the decision's own", () => {
    const pour = {
      ...{ pour: 'P', line: '1', first: 1, last: 9 },
      ...{ startedAt: '2026-03-02T06:00:00Z', endedAt: '2026-03-02T06:10:00Z' },
    }
    const time = '2026-03-02T00:10:00-06:00'
    const said = accepted(atDoor(event('pour.molds-poured.v1', pour, { time }))).statement
    const { source, id, type, subject } = said
    const decision = accepted(
      atDoor(
        event(
          'quality.record-corrected.v1',
          {
            event: { source, id, type, subject: subject!, time },
            ...{ data: { ...pour, last: 8 }, reason: 'one mold was empty', by: 'q3' },
          },
          { time: '2026-03-03T12:00:00Z' },
        ),
      ),
    )
    expect(factsOf(decision.statement, decision.data)[0]).toMatchObject({
      ...{ what: 'poured', last: 8, offsetMinutes: -360 },
    })
  })

  it('of a load keeps the times of the load', () => {
    const load = {
      load: 'X',
      castings: 9,
      startedAt: '2026-03-02T06:00:00Z',
      endedAt: '2026-03-02T07:00:00Z',
    }
    const handled = accepted(atDoor(event('clean.load-dried.v1', load))).statement
    const of = { type: handled.type, source: handled.source, subject: 'load:X', time: handled.time }
    const decision = accepted(atDoor(correct({ data: { ...load, castings: 8 } }, of)))
    expect(claimOf(decision.statement, decision.data)).toMatchObject({
      from: Date.parse(load.startedAt),
      until: Date.parse(load.endedAt),
    })
  })

  it('is not refused for the machine that only the source of its event names', () => {
    const source = 'https://events.quarry-ford.example/plant/quarry-ford/mold/line-2'
    const lost = { first: 1, last: 2, fate: 'broken' }
    const of = { type: 'mold.molds-lost.v1', source, subject: 'line:line-2' }
    const decision = accepted(atDoor(correct({ data: lost }, of)))
    expect(factsOf(decision.statement, decision.data)).toMatchObject([{ of: 'line:line-2' }])
  })

  it.each<[string, JsonObject, JsonObject, string]>([
    [
      'a misspelt field',
      { data: { ...data, celcius: 1 } },
      {},
      'data.celcius is not a known field. Did you mean celsius?',
    ],
    ['negative kg', { data: { ...data, kg: -1 } }, {}, 'data.kg is negative. Give 0 or more.'],
    [
      'another ladle',
      { data: { ...data, ladle: 'L9' } },
      {},
      'data is not about ladle:L1. Type, subject and time stay: void the event and report it again.',
    ],
    [
      'a source of another plant',
      {},
      { source: 'https://a.example/plant/b/melt' },
      'event.source is of another plant. A plant decides on its own events.',
    ],
    [
      'a source of no station',
      {},
      { source: 'somewhere' },
      'event.source names no station. Give https://<domain>/plant/<plant>/<station> or …/<station>/<machine>.',
    ],
    [
      'a source of another station',
      {},
      { source: corrected.source.replace('/melt/', '/pour/') },
      'event.type is not said by that source. Copy both from the event.',
    ],
    [
      'a decision on a decision',
      {},
      { type: 'quality.record-voided.v1' },
      'event.type is itself such a decision. Name the event it decided on, or supersede the decision.',
    ],
    ['no time', {}, { time: null }, 'event.time is null. Leave it out if it is not known.'],
  ])('with %s is refused', (_, more, of, reason) => {
    const decoded = atDoor(correct(more, of))
    expect(!decoded.ok && decoded.reason).toBe(reason)
  })

  it('of a type not known here is UNKNOWN, to be taken up by a later version', () => {
    for (const decoded of [
      atDoor(correct({}, { type: 'melt.heat-tapped.v2' })),
      inLog(correct({}, { type: 'melt.heat-tapped.v2' })),
    ]) {
      expect(decoded).toMatchObject({ ok: false, class: 'UNKNOWN' })
    }
  })

  it('that voids takes the record out and comes to nothing', () => {
    const { time: _, ...event_ } = named
    const voided = event('quality.record-voided.v1', {
      event: event_,
      reason: 'never was',
      by: 'q3',
    })
    const { statement, data } = accepted(atDoor(voided))
    expect(claimOf(statement, data)).toMatchObject({
      void: true,
      joins: { source: corrected.source, id: corrected.id },
      about: 'melt.heat-tapped ladle:L1',
    })
    expect(claimOf(statement, data).slot).toBeUndefined()
    expect(factsOf(statement, data)).toEqual([])
  })
})

describe('Facts', () => {
  it('of a lot without a role hold it to the strictest rule', () => {
    const lot = { lot: 'A', material: 'm', kg: 1, supplier: 's' }
    const { statement, data } = accepted(atDoor(event('receive.lot-received.v1', lot)))
    expect(factsOf(statement, data)).toMatchObject([{ what: 'lot-received', role: 'other' }])
  })

  it('of slag coagulation leave no mass in the metal, wherever it is put in', () => {
    const additions = [{ of: 'lot:SC', kg: 1, purpose: 'slag-coagulation' }]
    const hour = { startedAt: '2026-03-02T06:00:00Z', endedAt: '2026-03-02T07:00:00Z' }
    for (const sent of [
      event('melt.ladle-treated.v1', { ladle: 'L', additions }),
      event('melt.heat-alloyed.v1', { heat: 'H', furnace: 'F', additions }),
      event('pour.molds-poured.v1', {
        pour: 'P',
        line: 'l',
        first: 1,
        last: 2,
        additions,
        ...hour,
      }),
    ]) {
      const { statement, data } = accepted(atDoor(sent))
      const facts = factsOf(statement, data).filter(
        (fact) => 'other' in fact && fact.other === 'lot:SC',
      )
      expect(facts).toMatchObject([{ what: 'touched', purpose: 'slag-coagulation' }])
    }
  })

  it('of packs repacked keep every casting', () => {
    const sent = event('ship.packs-repacked.v1', {
      outOf: [
        { pack: 'A', castings: 7 },
        { pack: 'B', castings: 5 },
      ],
      into: [
        { pack: 'C', marks: [], product: 'x', castings: 4 },
        { pack: 'D', marks: [], product: 'x', castings: 8 },
      ],
      reason: 'repack',
    })
    const { statement, data } = accepted(atDoor(sent))
    const sums: Record<string, number> = {}
    for (const fact of factsOf(statement, data)) {
      if (fact.what !== 'repacked') continue
      sums[fact.of] = (sums[fact.of] ?? 0) + fact.amount
      sums[fact.other] = (sums[fact.other] ?? 0) + fact.amount
    }
    const near = (n: number) => expect.closeTo(n, 12) as number
    expect(sums).toEqual({
      'pack:A': near(7),
      'pack:B': near(5),
      'pack:C': near(4),
      'pack:D': near(8),
    })
  })
})

describe('Reading a statement again', () => {
  it('is refused loudly where its data is not fit for its type', () => {
    const { statement } = accepted(atDoor(tap()))
    expect(() => read({ ...statement, entered: {} })).toThrow('is not a fit melt.heat-tapped.v1')
    expect(() => read({ ...statement, type: 'melt.x.v1' })).toThrow('is not in the catalogue')
  })

  it('describes even a kind of report that is not known here', () => {
    const { statement } = accepted(atDoor(tap()))
    expect(describeReport({ ...statement, type: 'melt.x.v1' })).toBe(
      'A report of a kind not known here: melt.x.v1.',
    )
  })

  it('knows every way a value may have come about', () => {
    for (const how of HOWS)
      expect(accepted(atDoor(tap({ kg: { value: 1, how } }))).flags).toEqual([])
  })
})

function meanings(fields: Fields): string[] {
  return Object.values(fields).flatMap(({ means, shape }) => {
    const inner = shape.is === 'list' ? shape.of : shape
    return [means, ...(inner.is === 'record' ? meanings(inner.fields) : [])]
  })
}
