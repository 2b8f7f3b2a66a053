import { describe, expect, it } from 'vitest'
import type { JsonObject } from '../../services/events/statement.ts'
import { Clock } from '../../services/plant/clock.ts'
import type { Mishap } from '../../services/plant/fault.ts'
import { simulate } from '../../services/plant/plant.ts'
import { randomOf } from '../../services/plant/random.ts'
import { type PlantEvent, Post } from '../../services/plant/report.ts'
import { World } from '../../services/plant/world.ts'

const dirty = (mishaps: readonly Mishap[] = []) =>
  simulate({ seed: 21, days: 1, faults: false, dirty: true, mishaps })
const { reports, truth } = dirty()
const events = reports.map(({ body }) => body as PlantEvent)
const ofType = (type: string, among = events) => among.filter((event) => event.type === type)

describe('A dirty plant', () => {
  it('loses no metal and makes none', () => {
    let [received, held] = [0, 0]
    for (const { kg } of truth.metal.lots()) received += kg
    for (const [, kg] of truth.metal.held()) held += kg
    expect(held).toBeCloseTo(received, 3)
    for (const { pour } of truth.pours) {
      const whole = [...truth.metal.lotsOf(`pour:${pour}`).values()].reduce((a, b) => a + b, 0)
      expect(whole).toBeCloseTo(1, 9)
    }
  })

  it('draws from a face: of two lots in the bay now one and now the other prevails', () => {
    const lots = ofType('receive.bin-filled.v1')
      .filter(({ data }) => data.bin === 'bay-3')
      .map(({ data }) => (data.lines as JsonObject[])[0]!.of as string)
    expect(lots.length).toBeGreaterThan(1)
    const shares = lots.map((lot) => truth.metal.sharesOf(lot))
    const charges = ofType('melt.charge-weighed.v1').map(({ subject }) => subject!)
    const part = (charge: string) => {
      const parts = shares.map((share) => share.get(charge) ?? 0)
      return parts[0]! / parts.reduce((a, b) => a + b, 1e-12)
    }
    const parts = charges.map(part)
    const jumps = parts.slice(1).filter((now, i) => Math.abs(now - parts[i]!) > 0.3)
    expect(jumps.length).toBeGreaterThan(2)
  })

  it('has scales that are off alike in every weighing, each in its own way', () => {
    const clock = new Clock(0)
    const world = (seed: number, off: boolean) => {
      const post = new Post(clock, { random: randomOf(seed, 'post') }, 0, 0)
      return new World({ seed, days: 1, dirty: off }, { clock, post, truth, start: 0 })
    }
    const seeds = Array.from({ length: 400 }, (_, i) => i)
    const biases = seeds.map((seed) => world(seed, true).bias('crane', 0.01) - 1)
    const spread = Math.sqrt(biases.reduce((sum, bias) => sum + bias * bias, 0) / biases.length)
    // Four standard deviations of a spread of 400.
    expect(Math.abs(spread - 0.01)).toBeLessThan((4 * 0.01) / Math.sqrt(2 * 400))
    const one = world(5, true)
    expect(one.bias('crane', 0.01)).toBe(one.bias('crane', 0.01))
    expect(one.bias('crane', 0.01)).not.toBe(one.bias('gauge', 0.01))
    expect(world(5, false).bias('crane', 0.01)).toBe(1)
  })

  it('plugs cavities in the middle of a day, and says so', () => {
    const blanked = ofType('mold.line-stopped.v1').filter(
      ({ data }) => data.reason === 'cavity blanked',
    )
    expect(blanked.length).toBeGreaterThan(0)
  })
})

describe('Mishaps', () => {
  it.each([
    ['missing', 0.02],
    ['late', 0.02],
    ['duplicated', 0.01],
    ['mistaken', 0.003],
  ] as const)(
    '%s befall as many reports as they should, and nothing on the floor',
    (mishap, part) => {
      const hit = dirty([mishap])
      const count = hit.truth.faults.filter(({ fault }) =>
        fault.startsWith(mishap.slice(0, 4)),
      ).length
      const wanted = part * reports.length
      // Four standard deviations; the tallies of the night are late anyhow, and some figures cannot be spoilt.
      const before = truth.faults.filter(({ fault }) => fault === mishap).length
      expect(count - before).toBeLessThan(wanted + 4 * Math.sqrt(wanted))
      expect(count - before).toBeGreaterThan(wanted / 3 - 4 * Math.sqrt(wanted / 3))
      expect([...hit.truth.castings.groups()]).toEqual([...truth.castings.groups()])
    },
  )

  it.each(['swapped', 'slipped', 'forgotten'] as const)(
    '%s changes some reports of the melt only',
    (mishap) => {
      const hit = dirty([mishap])
      const faults = hit.truth.faults.filter(({ fault }) => fault === mishap)
      expect(faults.length).toBeGreaterThan(0)
      const wrong = new Set(faults.map(({ source, id }) => `${source} ${id}`))
      const others = (list: readonly PlantEvent[]) =>
        list.filter(({ source, id }) => !wrong.has(`${source} ${id}`))
      const hitEvents = hit.reports.map(({ body }) => body as PlantEvent)
      expect(others(hitEvents)).toEqual(others(events))
      expect([...wrong].every((key) => key.includes('/melt/'))).toBe(true)
    },
  )
})
