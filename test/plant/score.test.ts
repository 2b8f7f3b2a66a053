import { describe, expect, it } from 'vitest'
import { figuresOf, jackknife } from '../../services/plant/score/figures.ts'
import { scoreOf } from '../../services/plant/score/score-of.ts'
import { SHARES, type Sheet } from '../../services/plant/score/sheet.ts'

const sheet = scoreOf({ seed: 11, days: 1, mishaps: [] })

describe('The score', () => {
  it('comes out the same for the same seed, and otherwise for another', { timeout: 60_000 }, () => {
    expect(scoreOf({ seed: 11, days: 1, mishaps: [] })).toEqual(sheet)
    expect(scoreOf({ seed: 12, days: 1, mishaps: [] })).not.toEqual(sheet)
  })

  it('finds every casting truly over a share held, clear or in things no answer names', () => {
    for (const share of SHARES) {
      const { truly, clear, found, unseen } = sheet.byShare[share]!
      expect(truly).toBeGreaterThan(0)
      expect(clear + found + unseen).toBe(truly)
    }
  })

  it('knows where every casting is when everything is reported', () => {
    for (const share of SHARES) expect(sheet.byShare[share]!.unseen).toBe(0)
  })

  it('counts what the rules beside it hold too much', () => {
    const { excess, plain } = sheet.byShare[0.1]!
    expect(plain.missed).toBe(0)
    expect(plain.excess).toBeGreaterThan(2 * excess)
  })

  it('tells what nobody could do without, who knows all metal', () => {
    for (const share of SHARES) {
      const { excess, leastExcess, plain } = sheet.byShare[share]!
      expect(leastExcess).toBeGreaterThan(0)
      expect(leastExcess).toBeLessThan(excess)
      expect(leastExcess).toBeLessThan(plain.excess)
    }
  })

  it('tells what is clear from what is not known among castings without a chance', () => {
    const { table } = figuresOf([sheet]).chances
    const clear = table.find(({ said }) => said === 'clear')!
    expect(clear.castings).toBeGreaterThan(0)
    expect(clear.affected).toBe(0)
  })

  it('widens an interval by how foundries differ', () => {
    const cast = (castings: number) => ({ ...sheet, castings })
    const mean = (sheets: readonly Sheet[]) =>
      sheets.reduce((sum, { castings }) => sum + castings, 0) / sheets.length
    // Of a mean the jackknife gives the usual standard error: here 1, with t = 12.706 for one degree.
    expect(jackknife([cast(9), cast(11)], mean)).toEqual({ value: 10, low: 0, high: 22.71 })
  })

  it('gives figures that are numbers', () => {
    const { byShare, shares, chances } = figuresOf([sheet])
    expect(byShare[0.01]!.found.value).toBeGreaterThan(0.9)
    expect(shares.inside.value).toBeGreaterThan(0)
    expect(chances.table.reduce((sum, { castings }) => sum + castings, 0)).toBeGreaterThan(1000)
  })
})
