import { describe, expect, it } from 'vitest'
import {
  type BeliefRow,
  beliefs,
  beliefsSentence,
  beliefWords,
} from '../../services/desk/drawings/beliefs.ts'
import { doseSentence, doseSteps } from '../../services/desk/drawings/dose-steps.ts'
import { linesOf } from '../../services/desk/drawings/svg.ts'
import { plain } from '../../services/desk/words/plain.ts'

const rate = (value: number) => ({ value, low: value / 2, high: value * 2 })
const ROWS: BeliefRow[] = [
  { name: 'oil lot O-221 <b>', belief: 0.95, with: rate(0.07), without: rate(0.0034) },
  { name: 'oven 2', belief: 0.02, with: rate(0.01), without: rate(0.009) },
  { name: 'nothing recorded explains it', belief: 0.03 },
]

/** Numbers of one attribute of all elements of a class, in their order. */
function numbers(svg: string, tag: string, name: string, attribute: string): number[] {
  const elements = svg.match(new RegExp(`<${tag} class="${name}"[^>]*>`, 'g')) ?? []
  return elements.map((one) => Number(new RegExp(` ${attribute}="([-\\d.]+)"`).exec(one)![1]))
}

describe('What is believed, drawn', () => {
  const svg = beliefs(ROWS, 900)

  it('gives each explanation a bar as long as its belief', () => {
    const tracks = numbers(svg, 'rect', 'thin', 'width')
    const bars = [
      ...numbers(svg, 'rect', 'ink', 'width').slice(-2),
      ...numbers(svg, 'rect', 'empty', 'width'),
    ]
    for (const [i, bar] of bars.entries()) expect(bar / tracks[i]!).toBeCloseTo(ROWS[i]!.belief, 2)
  })

  it('puts twice the rate equally far to the right wherever it stands', () => {
    const full = numbers(svg, 'circle', 'ink', 'cx').slice(-2)
    const open = numbers(svg, 'circle', 'open-dot', 'cx')
    const decade = (full[0]! - open[0]!) / Math.log10(0.07 / 0.0034)
    expect((full[1]! - open[1]!) / Math.log10(0.01 / 0.009)).toBeCloseTo(decade, 0)
  })

  it('holds all of it at any width, and no name as markup', () => {
    for (const width of [280, 390, 768, 1040]) {
      const drawn = beliefs(ROWS, width)
      const right = [...drawn.matchAll(/ (?:x|x1|x2|cx)="([-\d.]+)"/g)].map(([, x]) => Number(x))
      expect(Math.max(...right)).toBeLessThanOrEqual(width)
      expect(Math.min(...right)).toBeGreaterThanOrEqual(0)
      expect(drawn).not.toContain('<b>')
    }
  })

  it('says what it draws, with the row of nothing always last', () => {
    expect(beliefsSentence(ROWS)).toBe(
      'oil lot O-221 <b>, believed 95 in 100: bad 1 in 14 with it, 1 in 290 without; ' +
        'oven 2, believed 2 in 100: bad 1 in 100 with it, 1 in 110 without; ' +
        'nothing recorded explains it, believed 3 in 100.',
    )
    expect(beliefsSentence([ROWS[0]!, ROWS[1]!, ROWS[1]!, ROWS[2]!])).toMatch(
      /nothing recorded explains it, believed 3 in 100; 1 more in the table\.$/,
    )
  })

  it('is never surer than the method', () => {
    expect(beliefWords(0.9999)).toBe('99 in 100')
    expect(beliefWords(0)).toBe('under 1 in 100')
  })
})

describe('Bad castings by dose, drawn', () => {
  const steps = {
    ...{ dose: [0, 0.4, 1], castings: [1_000, 400, 200], rate: [0.01, 0.02, 0.05] },
    ...{ low: [0.005, 0.01, 0.03], high: [0.02, 0.04, 0.08] },
  }

  it('rises where the rate does', () => {
    const y = numbers(doseSteps(steps, 600), 'circle', 'ink', 'cy').slice(-3)
    expect(y).toEqual([...y].sort((a, b) => b - a))
    expect(doseSentence(steps)).toBe(
      'Of 1,000 castings with least of it 1 in 100 is bad, of 200 with most of it 1 in 20.',
    )
  })
})

describe('Texts for a page', () => {
  it('tell moments by the clock of the reader, and things by name', () => {
    const at = new Date('2026-04-11T10:00:00Z')
    expect(plain(`more of lot:SB-3400 until ${at.toISOString()}.`)).toMatch(
      /^more of lot SB-3400 until Saturday 11 April \d\d:\d\d\.$/,
    )
    expect(plain('on 2026-04-11, heat:H0412-f2-17.')).toBe('on 11 April, heat H0412-f2-17.')
  })

  it('break at words only', () => {
    const words = 'time of blast from Saturday 11 April 21:45 until Sunday 12 April 07:48'
    expect(linesOf(words, 300).join(' ')).toBe(words)
    expect(Math.max(...linesOf(words, 300).map((line) => line.length))).toBeLessThanOrEqual(43)
  })
})
