import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import {
  type Color,
  differenceCiede2000,
  filterDeficiencyDeuter,
  filterDeficiencyProt,
  filterDeficiencyTrit,
  filterGrayscale,
  parse,
  wcagContrast,
} from 'culori'
import { describe, expect, it } from 'vitest'
import { drawing } from '../../services/desk/drawings/svg.ts'
import { STANDINGS } from '../../services/desk/words/standing.ts'

const DESK = join(import.meta.dirname, '..', '..', 'services', 'desk')
const CSS = readdirSync(DESK, { recursive: true, encoding: 'utf8' })
  .filter((file) => file.endsWith('.css') && !file.startsWith('built'))
  .map((file) => readFileSync(join(DESK, file), 'utf8'))
  .join('\n')
const root = /:root \{([^}]+)\}/.exec(CSS)![1]!
const inks = Object.fromEntries(
  [...root.matchAll(/--([a-z]+): (#[\da-f]{6});/g)].map(([, name, hex]) => [name!, hex!]),
)

const colour = (name: string): Color => parse(inks[name]!)!

/** Least contrast of text by WCAG 2.2, 1.4.3, and of what is no text by 1.4.11. */
const TEXT = 4.5
const MARK = 3
/** Below this two patches side by side are hard to tell apart; common practice, no source. */
const APART = 20

describe('The inks', () => {
  it.each(['ink', 'warm', 'cool', 'faint', 'focus'])('%s is read on paper', (name) => {
    expect(wcagContrast(inks[name]!, inks.paper!)).toBeGreaterThanOrEqual(TEXT)
  })

  it('rules are seen on paper', () => {
    expect(wcagContrast(inks.rule!, inks.paper!)).toBeGreaterThanOrEqual(MARK)
  })

  it.each([
    ['no red cones', filterDeficiencyProt(1)],
    ['no green cones', filterDeficiencyDeuter(1)],
    ['no blue cones', filterDeficiencyTrit(1)],
  ])('warm and cool stay apart with %s', (_, seen) => {
    const distance = differenceCiede2000()
    expect(distance(seen(colour('warm')), seen(colour('cool')))).toBeGreaterThan(APART)
  })

  it('warm and cool are not told apart in grey, so each standing has a texture of its own', () => {
    const grey = filterGrayscale(1)
    const distance = differenceCiede2000()
    expect(distance(grey(colour('warm')), grey(colour('cool')))).toBeLessThan(APART)
    const textures = Object.values(STANDINGS).map(({ texture }) => texture)
    expect(new Set(textures).size).toBe(4)
    for (const texture of textures) expect(CSS).toContain(`.drawing .${texture}`)
  })

  it('textures differ in grey by how much of them is ink', () => {
    const svg = drawing({ width: 10, height: 10, sentence: 'nothing' })
    const inked = {
      solid: 1,
      hatched: Number(/id="hatched".*?class="ink" width="([\d.]+)"/.exec(svg)![1]) / 6,
      dotted:
        (Math.PI * Number(/id="dotted".*?class="ink".*? r="([\d.]+)"/.exec(svg)![1]) ** 2) / 36,
      empty: 0,
    }
    const parts = Object.values(inked)
    for (const [i, part] of parts.slice(1).entries())
      expect(parts[i]! - part, `${Object.keys(inked)[i]} against the next`).toBeGreaterThan(0.1)
  })

  it('are all there is: no page has a colour of its own that is not one of them or a tint of paper', () => {
    const others = [...CSS.matchAll(/#[\da-f]{3,6}\b/g)]
      .map(([hex]) => hex)
      .filter((hex) => !Object.values(inks).includes(hex))
    // Pure black and white for paper.
    for (const hex of others) expect(['#000', '#fff']).toContain(hex)
  })
})
