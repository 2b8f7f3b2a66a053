import { describe, expect, it } from 'vitest'
import { pointByPoint, pointsSentence } from '../../services/desk/drawings/point-by-point.ts'

const POINTS = {
  name: ['1 March', '2 March', '3 March', '4 March'],
  value: [0.02, 0.025, 0.09, 0],
  centre: [0.03, 0.03, 0.03, 0.03],
  lowerLimit: [0, 0.01, 0.01, 0],
  upperLimit: [0.9, 0.05, 0.05, 0.08],
  broken: new Set([2]),
}

/** Textures come before what is drawn, and have dots of their own. */
const dots = (svg: string, kind: string) =>
  [
    ...svg
      .split('</defs>')[1]!
      .matchAll(new RegExp(`<circle class="${kind}" cx="([\\d.]+)" cy="([\\d.]+)"`, 'g')),
  ].map(([, x, y]) => ({ x: Number(x), y: Number(y) }))

describe('A rate from point to point', () => {
  it('has an open dot for each point and a full, named one where a rule is broken', () => {
    const svg = pointByPoint(POINTS, 800)
    expect(dots(svg, 'open-dot')).toHaveLength(3)
    expect(dots(svg, 'ink')).toHaveLength(1)
    expect(svg.match(/>3 March</g)!.length).toBeGreaterThanOrEqual(1)
  })

  it('lies higher where it is more, and in order', () => {
    const svg = pointByPoint({ ...POINTS, broken: new Set() }, 800)
    const all = dots(svg, 'open-dot')
    const heights = all.map(({ y }) => -y)
    const order = (list: readonly number[]) =>
      list.map((_, i) => i).sort((a, b) => list[a]! - list[b]!)
    expect(order(heights)).toEqual(order(POINTS.value))
    expect(order(all.map(({ x }) => x))).toEqual([0, 1, 2, 3])
  })

  it('lets no small point squeeze all others, and draws nothing beyond its edges', () => {
    const svg = pointByPoint(POINTS, 300)
    const [most] = dots(svg, 'ink')
    expect(most!.y).toBeLessThan(140)
    for (const [, y] of svg.matchAll(/ (?:cy|y1|y2|y)="(-?[\d.]+)"/g)) {
      expect(Number(y)).toBeGreaterThanOrEqual(0)
      expect(Number(y)).toBeLessThanOrEqual(240)
    }
  })

  it('says what it draws', () => {
    expect(pointsSentence(POINTS)).toBe(
      '4 points about 3 %; out of the ordinary: 3 March with 9 %.',
    )
    expect(pointsSentence({ ...POINTS, broken: new Set() })).toMatch(
      /none lies outside what is usual\.$/,
    )
  })
})
