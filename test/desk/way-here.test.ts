import { describe, expect, it } from 'vitest'
import { bathLevel, teethOf } from '../../services/desk/drawings/bath-level.ts'
import {
  partsOf,
  type WayHere,
  wayHere,
  waySentence,
} from '../../services/desk/drawings/way-here.ts'

const way: WayHere = {
  stages: [
    {
      ...{ name: 'lots', isMetal: true, others: { count: 14, part: 0.3 } },
      boxes: [
        { id: 'lot:SB-1', name: 'SB-1', part: 0.5 },
        { id: 'lot:PI-2', name: 'PI-2', part: 0.15 },
      ],
    },
    {
      ...{ name: 'pours', isMetal: false, others: { count: 0, part: 0 } },
      boxes: [
        { id: 'pour:P-1', name: 'P-1', part: 0.6 },
        { id: 'pour:P-2', name: 'P-2', part: 0.4 },
      ],
    },
  ],
  ...{ unrecorded: 0.05, unknownSource: 0 },
}

/** Rectangles that are parts, by their class and width. */
const partsIn = (svg: string) =>
  [...svg.matchAll(/<rect class="([^"]*\bpart)"[^>]*? width="([\d.]+)"/g)].map(
    ([, texture, width]) => [texture!, Number(width)] as const,
  )

describe('The way here', () => {
  it('is bars whose parts add up to the whole, at any width', () => {
    for (const width of [320, 700, 1100]) {
      const widths = partsIn(wayHere(way, width)).map(([, part]) => part)
      const bar = Number(/class="outline"[^>]* width="([\d.]+)"/.exec(wayHere(way, width))![1])
      const whole = widths.reduce((sum, part) => sum + part, 0)
      expect(whole).toBeCloseTo(way.stages.length * bar, 0)
    }
  })

  it('keeps apart by texture what is metal, what is chance, what is left and what is not known', () => {
    expect(partsIn(wayHere(way, 900)).map(([texture]) => texture)).toEqual([
      'rest part',
      'rest part',
      'empty part',
      'dotted part',
      'hatched part',
      'hatched part',
    ])
  })

  it('fits its bar where castings pass a stage twice', () => {
    const twice = { ...way.stages[1]!, others: { count: 3, part: 0.5 } }
    const svg = wayHere({ ...way, stages: [twice] }, 900)
    const bar = Number(/class="outline"[^>]* width="([\d.]+)"/.exec(svg)![1])
    expect(partsIn(svg).reduce((sum, [, part]) => sum + part, 0)).toBeCloseTo(bar, 0)
  })

  it('has the seam between metal and pieces once', () => {
    expect(wayHere(way, 900).match(/class="seam"/g)).toHaveLength(1)
    expect(wayHere({ ...way, stages: way.stages.slice(1) }, 900)).not.toContain('class="seam"')
  })

  it('marks what feeds the part in hand', () => {
    const svg = wayHere({ ...way, focus: { id: 'pour:P-1', feeders: new Set(['lot:SB-1']) } }, 900)
    expect(partsIn(svg).map(([texture]) => texture)).toContain('rest feeds part')
    expect(partsIn(svg).map(([texture]) => texture)).toContain('ink part')
  })

  it('says in words what it draws', () => {
    expect(waySentence(way)).toBe(
      'Metal by mass, lots: SB-1 50 in 100 and others. Pieces by chance, pours: P-1 60 in 100 and others.',
    )
    expect(partsOf(way.stages[0]!, way).map(({ part }) => part)).toEqual([0.5, 0.15, 0.3, 0.05])
  })
})

describe('A furnace as a level', () => {
  const bath = {
    change: ['CHARGED', 'TAPPED', 'CHARGED', 'TAPPED'],
    heat: ['heat:1', 'heat:1', 'heat:2', 'heat:2'],
    kg: [2_000, 500, 2_000, 600],
    share: [0, 0, 0.2, 0.2],
    ours: new Set(['heat:2']),
  }

  it('has one tooth a heat, with the share at its fullest', () => {
    expect(teethOf(bath).map(({ heat, share }) => [heat, share])).toEqual([
      ['heat:1', 0],
      ['heat:2', 0.2],
    ])
  })

  it('draws what is followed as high as its mass', () => {
    const ends = (texture: string) => {
      const path = new RegExp(`<path class="${texture}" d="([^"]+)"`).exec(
        bathLevel(bath, 800),
      )![1]!
      const heights = [...path.matchAll(/[ML][\d.]+ ([\d.]+)/g)].map(([, y]) => Number(y))
      return 150 - Math.min(...heights)
    }
    expect(ends('solid') / ends('bath')).toBeCloseTo(0.2, 2)
  })
})
