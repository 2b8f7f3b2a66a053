import { createHash } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { decode } from '../../services/events/envelope.ts'
import { momentOf } from '../../services/events/moment.ts'
import type { FaultName } from '../../services/plant/fault.ts'
import { MATERIALS } from '../../services/plant/materials.ts'
import { CUSTOMERS, PLANT } from '../../services/plant/names.ts'
import { simulate } from '../../services/plant/plant.ts'
import { PRODUCTS } from '../../services/plant/products.ts'
import type { PlantEvent, Report } from '../../services/plant/report.ts'
import { countsOf } from './counts.ts'

const { reports, truth } = simulate({ seed: 1, days: 2 })
const faultless = simulate({ seed: 1, days: 2, faults: false })
const textOf = ({ body }: Report) => (typeof body === 'string' ? body : JSON.stringify(body))
const atDoor = (report: Report) =>
  decode(Buffer.from(textOf(report)), { recorded: Math.round(report.reaches) })
const eventsOf = (all: readonly Report[]) =>
  all.flatMap(({ body }) => (typeof body === 'string' ? [] : [body]))
const events = eventsOf(reports)
const ofType = (type: string) => events.filter((event) => event.type === type)
const digest = (all: readonly Report[]) => {
  const hash = createHash('sha256')
  for (const report of all) hash.update(`${report.reaches} ${textOf(report)}\n`)
  return hash.digest('hex')
}
const shareOfBad = truth.metal.sharesOf(truth.cause!.lot)

describe('The foundry', () => {
  it('reports the same for the same seed and otherwise for another', () => {
    const one = digest(reports)
    expect(digest(simulate({ seed: 1, days: 2 }).reports)).toBe(one)
    expect(digest(simulate({ seed: 2, days: 2 }).reports)).not.toBe(one)
  })

  it('fills two days with five to eight thousand reports, in the order they reach the doors', () => {
    expect(reports.length).toBeGreaterThan(5000)
    expect(reports.length).toBeLessThan(8000)
    const reaches = reports.map((report) => report.reaches)
    expect(reaches).toEqual(reaches.toSorted((a, b) => a - b))
  })

  it('starts when it is told, in the time zone it is told, and refuses a start that is no moment', () => {
    const { reports: other } = simulate({ seed: 1, days: 1, start: '2025-11-03T06:00:00+05:30' })
    const tap = other.find(({ body }) => typeof body === 'object' && body.type.includes('tapped'))
    expect((tap!.body as PlantEvent).time).toMatch(/^2025-11-03T0[56]:\d\d:\d\d\+05:30$/)
    expect(() => simulate({ seed: 1, days: 1, start: 'monday' })).toThrow(RangeError)
  })

  it('reports without faults where none are asked for, and the truth is the same', () => {
    expect(faultless.reports.every((report) => !report.fault && atDoor(report).ok)).toBe(true)
    expect(faultless.truth.faults.every(({ fault }) => fault === 'late')).toBe(true)
    expect([...faultless.truth.castings.groups()]).toEqual([...truth.castings.groups()])
  })

  it('says nothing a door refuses, but for the faults that were put in', () => {
    const refused = reports.filter((report) => !report.fault && !atDoor(report).ok)
    expect(refused.map((report) => [textOf(report), atDoor(report)])).toEqual([])
  })

  it.each<[FaultName, string]>([
    ['misspelt-field', 'SCHEMA'],
    ['wrong-unit', 'SCHEMA'],
    ['negative-weight', 'DOMAIN'],
    ['impossible-chemistry', 'DOMAIN'],
    ['unknown-type', 'UNKNOWN'],
    ['wrong-station', 'FORGED'],
    ['malformed', 'UNDECODABLE'],
  ])('sends one report with the fault %s, which a door refuses as %s', (fault, refusal) => {
    const faulty = reports.filter((report) => report.fault === fault)
    expect(faulty).toHaveLength(1)
    expect(atDoor(faulty[0]!)).toMatchObject({ ok: false, class: refusal })
    expect(truth.faults.filter((one) => one.fault === fault)).toHaveLength(1)
  })

  it('corrects three figures and takes one report back', () => {
    const corrections = events.filter((event) => event.supersedes !== undefined)
    expect(corrections).toHaveLength(3)
    for (const correction of corrections) {
      const wrong = events.find(
        ({ source, id }) => source === correction.source && id === correction.supersedes,
      )!
      expect(wrong.data).not.toEqual(correction.data)
      expect([wrong.type, wrong.subject, wrong.time]).toEqual([
        correction.type,
        correction.subject,
        correction.time,
      ])
    }
    const [voided] = ofType('quality.record-voided.v1')
    const named = voided!.data.event as { source: string; id: string }
    const taken = events.filter(({ source, id }) => source === named.source && id === named.id)
    expect(taken).toHaveLength(1)
  })

  it('gives no key to two reports that say different things', () => {
    const said = new Map<string, string>()
    for (const event of events) {
      const key = `${event.source} ${event.id}`
      const text = JSON.stringify(event)
      expect(said.get(key) ?? text).toBe(text)
      said.set(key, text)
    }
  })

  it('sends some reports twice, word for word', () => {
    const twice = reports.filter((report) => report.fault === 'duplicate')
    expect(twice.length).toBeGreaterThan(5)
    for (const report of twice) {
      expect(reports.filter((other) => textOf(other) === textOf(report))).toHaveLength(2)
    }
  })

  it('types in the tallies of the first night on the next morning', () => {
    const late = truth.faults.filter((fault) => fault.fault === 'late')
    expect(late.length).toBeGreaterThan(3)
    for (const { source, id } of late) {
      const report = reports.find(
        ({ body }) => typeof body === 'object' && body.source === source && body.id === id,
      )!
      const hours = (report.reaches - momentOf((report.body as PlantEvent).time)!) / 3_600_000
      expect(hours).toBeGreaterThan(4)
    }
  })

  it('leaves out one charge that a heat names, and the sources of one load', () => {
    const lost = truth.faults.find((fault) => fault.fault === 'never-reported')!
    const charge = /charge:(\S+)/.exec(lost.sentence)![1]!
    expect(ofType('melt.charge-weighed.v1').some(({ data }) => data.charge === charge)).toBe(false)
    const heats = JSON.stringify(ofType('melt.heat-melted.v1').map(({ data }) => data.charges))
    expect(heats).toContain(`"${charge}"`)
    const blind = truth.faults.find((fault) => fault.fault === 'not-scanned')!
    const load = events.find(({ source, id }) => source === blind.source && id === blind.id)!
    expect(load.data).not.toHaveProperty('sources')
  })

  it('has furnaces whose clocks go wrong, each its own way', () => {
    const off = (furnace: string) =>
      reports.flatMap(({ body, reaches }) => {
        const sent = typeof body === 'object' && body.source.endsWith(furnace) && body.senttime
        return sent ? [momentOf(sent)! - reaches] : []
      })
    expect(Math.max(...off('/melt/f1'))).toBeGreaterThan(120_000)
    expect(Math.min(...off('/melt/f2'))).toBeLessThan(-120_000)
  })

  it('names no thing or firm that is not its own', () => {
    const suppliers: Set<string> = new Set(
      Object.values(MATERIALS).flatMap((m) => [...m.suppliers]),
    )
    const customers: ReadonlySet<string> = new Set(CUSTOMERS)
    const products = new Set(Object.keys(PRODUCTS))
    // RFC 2606 keeps .example for names that shall never be anybody's.
    expect(PLANT).toMatch(/^https:\/\/[a-z]+\.example\//)
    for (const { source, data } of events) {
      expect(source.startsWith(PLANT)).toBe(true)
      if (data.supplier !== undefined) expect(suppliers).toContain(data.supplier)
      if (data.customer !== undefined) expect(customers).toContain(data.customer)
      if (data.product !== undefined) expect(products).toContain(data.product)
    }
  })
})

describe('What happened in it', () => {
  it('makes every pour of lots that were received, all of it and nothing else', () => {
    for (const { pour } of truth.pours) {
      const shares = [...truth.metal.lotsOf(`pour:${pour}`).values()]
      expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12)
    }
  })

  it('loses no metal: what was received is held somewhere, and nothing holds less than nothing', () => {
    const received = [...truth.metal.lots()].reduce((sum, { kg }) => sum + kg, 0)
    const held = [...truth.metal.held()]
    const sum = held.reduce((total, [, kg]) => total + kg, 0)
    expect(sum / received).toBeCloseTo(1, 12)
    expect(held.filter(([, kg]) => kg < -1e-6)).toEqual([])
  })

  it('keeps every casting: each is in one place, and packs hold what their reports say', () => {
    let castings = 0
    const inPacks = new Map<string, number>()
    for (const group of truth.castings.groups()) {
      castings += group.castings
      if (!group.place.startsWith('pack:')) continue
      inPacks.set(group.place, (inPacks.get(group.place) ?? 0) + group.castings)
    }
    expect(castings).toBe(truth.castings.count)
    const { packs } = countsOf(events)
    expect(inPacks).toEqual(packs)
    expect(packs.size).toBeGreaterThan(250)
  })

  it('lets reported counts close: molds into castings, and load by load from step to step', () => {
    const { cast, shaken, gaps } = countsOf(eventsOf(faultless.reports))
    const standing = stillOnBelt()
    const done = [...shaken].filter(([pour]) => !standing.has(pour))
    expect(done.length).toBeGreaterThan(200)
    expect(done.filter(([pour, castings]) => cast.get(pour) !== castings)).toEqual([])
    expect(gaps).toEqual([])
  })

  it('puts the bad lot into a minority of the packs, and lets its share raise one defect', () => {
    const { flaw } = truth.cause!
    const packs = new Map<string, boolean>()
    const seen = { with: 0, without: 0, flawedWith: 0, flawedWithout: 0 }
    for (const { pour, castings, place, flaws } of truth.castings.groups()) {
      const reached = (shareOfBad.get(`pour:${pour}`) ?? 0) >= 0.01
      if (place.startsWith('pack:')) packs.set(place, packs.get(place) || reached)
      seen[reached ? 'with' : 'without'] += castings
      if (flaws.includes(flaw)) seen[reached ? 'flawedWith' : 'flawedWithout'] += castings
    }
    const part = [...packs.values()].filter(Boolean).length / packs.size
    expect(part).toBeGreaterThan(0.05)
    expect(part).toBeLessThan(0.45)
    const [rateWith, rateWithout] = [seen.flawedWith / seen.with, seen.flawedWithout / seen.without]
    expect(rateWith).toBeGreaterThan(3 * rateWithout)
  })

  it('mingles: packs share marks, pours share loads, and totes are not always emptied', () => {
    const marks = new Map<string, number>()
    for (const { marks: own } of truth.packs.values()) {
      for (const mark of own) marks.set(mark, (marks.get(mark) ?? 0) + 1)
    }
    expect(Math.max(...marks.values())).toBeGreaterThan(2)
    expect([...marks.keys()].every((mark) => /^(K20|K26|K30|D5|L5|G28|Q)-04\d\d/.test(mark))).toBe(
      true,
    )
    const oiled = JSON.stringify(
      ofType('season.load-oiled.v1').map(({ data }) => data.sources ?? []),
    )
    expect(oiled).toContain('"emptied":true')
    expect(oiled).toMatch(/"of":"tote:T\d\d","castings":\d+\}/)
  })

  it('marks griddles one by one, and tells the pour of a pan rightly', () => {
    const serials = ofType('ship.pans-packed.v1').flatMap(
      ({ data }) => (data.serials ?? []) as { pan: string; of?: string }[],
    )
    expect(new Set(serials.map(({ pan }) => pan)).size).toBe(truth.pans.size)
    for (const { pan, of } of serials) {
      const { pour, product } = truth.castings.unitOf(truth.pans.get(pan)!)
      expect(product).toBe('gathe-28')
      if (of !== undefined) expect(of).toBe(`pour:${pour}`)
    }
  })
})

/** On each line the last pours before the belt stopped, and castings not yet in a load. */
function stillOnBelt(): Set<string> {
  const last = ['a', 'b'].flatMap((line) => truth.pours.filter((p) => p.line === line).slice(-6))
  const pours = new Set(last.map(({ pour }) => pour))
  for (const { pour, place } of truth.castings.groups()) if (place === 'line') pours.add(pour)
  return pours
}
