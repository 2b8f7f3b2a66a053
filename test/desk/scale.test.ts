import { expect, it } from 'vitest'
import {
  logarithmic,
  momentTicks,
  rounded,
  straight,
  ticks,
} from '../../services/desk/drawings/scale.ts'

it('A straight scale puts its ends at their places, and what is halfway halfway', () => {
  const y = straight([0, 50], [200, 0])
  expect([0, 25, 50].map(y)).toEqual([200, 100, 0])
})

it('A logarithmic scale gives each decade the same room, leads back, and goes beyond no end', () => {
  const x = logarithmic([0.001, 1], [0, 300])
  expect([0.001, 0.01, 0.1, 1].map((value) => Math.round(x(value)))).toEqual([0, 100, 200, 300])
  expect(x.valueAt(x(0.03))).toBeCloseTo(0.03)
  expect([x(0), x(7)]).toEqual([0, 300])
  expect(x.valueAt(-9)).toBeCloseTo(0.001)
})

it.each([
  [[0, 1], 5, [0, 0.2, 0.4, 0.6, 0.8, 1]],
  [[0, 0.031], 3, [0, 0.01, 0.02, 0.03]],
  [[0, 4_000], 3, [0, 1_000, 2_000, 3_000, 4_000]],
  [[3, 17], 4, [5, 10, 15]],
  [[-0.5, 0.5], 2, [-0.5, 0, 0.5]],
] as const)('From %j about %i are named %j', (ends, about, named) => {
  expect(ticks(ends, about)).toEqual([...named])
})

it('Ends are moved out to the next step', () => {
  expect(rounded([0, 3_901], 3)).toEqual([0, 4_000])
})

it('Moments are named by whole hours or days of the reader, not too many', () => {
  const [from, to] = [new Date(2026, 3, 11, 5, 30), new Date(2026, 3, 12, 3)]
  expect(momentTicks(from, to, 6).map((at) => at.getHours())).toEqual([6, 12, 18, 0])
  const month = momentTicks(from, new Date(2026, 4, 9), 6)
  expect(month.length).toBeLessThanOrEqual(6)
  for (const at of month) expect(at.getHours()).toBe(0)
})
