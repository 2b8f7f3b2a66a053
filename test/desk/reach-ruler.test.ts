import { describe, expect, it } from 'vitest'
import {
  decadesOf,
  nearest,
  reachRuler,
  rulerSentence,
  shareAt,
  takenAt,
} from '../../services/desk/drawings/reach-ruler.ts'
import {
  countsWords,
  countsWritten,
  fromWritten,
  parametersOf,
  questionOf,
  variablesOf,
} from '../../services/desk/pages/reach/question.ts'
import { reachWords } from '../../services/desk/words/reach-words.ts'

const curve = {
  share: [0.2, 0.02, 0.002, 0.0002],
  toHold: [100, 400, 900, 2_000],
  expected: [80, 300, 700, 1_500],
  leftOut: [0.7, 0.3, 0.05, 0],
}
const strip = {
  at: ['2026-04-11T06:00:00Z', '2026-04-11T12:00:00Z', '2026-04-11T18:00:00Z'],
  until: '2026-04-12T00:00:00Z',
  share: [0.2, 0.002, 0],
  low: [0.1, 0.0005, 0],
  high: [0.25, 0.03, 0],
  gap: [0, 0, 0],
  castings: [500, 400, 60],
  unknown: [0, 0, 60],
}

describe('The ruler of a reach', () => {
  it('takes in what the curve says at each of its points', () => {
    for (const [i, share] of curve.share.entries())
      expect(takenAt(curve, share)).toEqual({
        share,
        toHold: curve.toHold[i],
        expected: curve.expected[i],
        leftOut: curve.leftOut[i],
      })
    expect(takenAt(curve, 0.5)).toMatchObject({ toHold: 0, leftOut: 1 })
  })

  it('lies where it is dropped', () => {
    const decades = decadesOf(curve)
    expect(decades[0]).toBe(1)
    expect(shareAt(curve, 0)).toBeCloseTo(decades[0]!)
    expect(shareAt(curve, 10_000)).toBeCloseTo(decades.at(-1)!)
    expect(nearest(curve, 0.0021)).toBe(2)
  })

  it('shows certain solid, possible hatched and not known dotted', () => {
    const { still, moved } = reachRuler({ strip, curve }, 1000)
    const shapes = (svg: string, texture: string) => svg.split(`class="${texture}"`).length - 1
    const of = (svg: string) =>
      ['solid', 'hatched bare', 'dotted bare'].map((texture) => shapes(svg, texture))
    // What the ruler takes in, wherever it lies.
    expect(of(still)).toEqual([1, 1, 0])
    // The pours: one that reaches it for certain, one that may, one of which nothing is known.
    expect(of(moved(0.02).below)).toEqual([1, 1, 1])
    expect(of(moved(0.2).below)).toEqual([0, 1, 1])
  })

  it('is all that moves with it', () => {
    const { moved } = reachRuler({ strip, curve }, 1000)
    const at = (share: number) => Number(/ y1="([\d.]+)"/.exec(moved(share).above)![1])
    expect(at(0.2)).toBeLessThan(at(0.02))
    expect(moved(0.2).above.match(/<\w+/g)).toEqual(['<line', '<path'])
  })

  it('says what it draws', () => {
    expect(rulerSentence(strip, takenAt(curve, 0.002))).toContain('900 castings are to hold')
    expect(rulerSentence(strip, takenAt(curve, 0.002))).toContain('2 of 3 slices')
  })
})

describe('The question of a reach', () => {
  it('is read as people write it', () => {
    expect(countsWritten('1 in 1,000')).toEqual({ share: 0.001 })
    expect(countsWritten('0.5 %')).toEqual({ share: 0.005 })
    expect(countsWritten('0.02')).toEqual({ share: 0.02 })
    expect(countsWritten('0.5 doses')).toEqual({ dose: 0.5 })
    expect(countsWritten('1 usual dose')).toEqual({ dose: 1 })
    expect(countsWritten('Any')).toEqual({ touched: true })
    for (const none of ['', '0', '2', 'much', '1 in 0', '0 doses', '200 doses', '. doses'])
      expect(countsWritten(none)).toBe(undefined)
    expect(fromWritten('Lot SB-3400, heat:H1; K20-0412-B7')).toEqual([
      'lot:SB-3400',
      'heat:H1',
      'K20-0412-B7',
    ])
  })

  it('comes out of its address as it went in', () => {
    for (const counts of [{ share: 0.01 }, { dose: 0.5 }, { touched: true } as const]) {
      const question = { from: ['lot:A', 'lot:B'], group: undefined, counts, asOf: undefined }
      expect(questionOf(parametersOf(question))).toEqual(question)
      expect(countsWritten(countsWords(counts))).toEqual(counts)
    }
  })

  it.each([
    'machine=oven+2&begin=2026-04-11T06%3A00%3A00.000Z&end=2026-04-11T14%3A00%3A00.000Z&touched=1',
    'quantity=pouring+temperature&lowest=1380&begin=2026-04-11T06%3A00%3A00.000Z&end=2026-04-12T06%3A00%3A00.000Z&touched=1',
    'factor=oven+2&stage=after-bake&defect=blister&begin=2026-04-11T06%3A00%3A00.000Z&end=2026-04-12T06%3A00%3A00.000Z&touched=1',
  ])('follows what is no thing, by its address: %s', (address) => {
    const question = questionOf(new URLSearchParams(address))
    expect(question.group).toBeDefined()
    expect(parametersOf(question).toString()).toBe(address)
    expect(variablesOf(question)).toMatchObject({
      from: question.group,
      affected: { touched: true },
    })
  })

  it('follows no half of such a group', () => {
    for (const address of ['machine=oven+2', 'factor=oven+2&begin=2026-04-11&end=2026-04-12'])
      expect(questionOf(new URLSearchParams(address)).group).toBeUndefined()
  })

  it('counts whatever was touched where nothing goes by mass', () => {
    expect(questionOf(new URLSearchParams('from=sand:S1')).counts).toEqual({ touched: true })
    expect(questionOf(new URLSearchParams('from=lot:L1')).counts).toEqual({ share: 0.001 })
  })
})

describe('The answer of a reach', () => {
  const none = { certain: 0, possible: 0, unknown: 0, clear: 50, toHold: 0, expected: { value: 0 } }

  it('never calls clear what rests on gaps', () => {
    expect(reachWords(none, false, undefined, null)).toMatch(/^So far/)
    expect(reachWords(none, true, undefined, null)).toMatch(/no report .* is missing/)
  })
})
