import { describe, expect, it } from 'vitest'
import type { CastingsNode } from '../../../services/metal/castings/places.ts'
import { isKept, layOut } from '../../../services/plant/score/layout.ts'
import type { Cell } from '../../../services/plant/score/true-castings.ts'

const row = (slot: number, cavity: string, more: Partial<CastingsNode> = {}): CastingsNode => ({
  slot,
  thing: 7,
  product: 'pan',
  cavity,
  castings: 10,
  place: 'IN_STOCK',
  at: 0,
  ...more,
})

const cell = (cavity: string, more: Partial<Cell> = {}): Cell => ({
  things: ['pack:K'],
  product: 'pan',
  cavity,
  scrapped: false,
  castings: 10,
  pours: new Map([['P', 10]]),
  ...more,
})

/** For each cell of one pack, whether it stays when the rows of these places are held. */
function kept(rows: CastingsNode[], cells: Cell[], ...held: number[]): boolean[] {
  const castings = { nodes: () => rows }
  const { piles } = layOut({ castings, things: { name: () => 'pack:K' } }, cells)
  expect(piles).toHaveLength(1)
  return piles[0]!.here.map((some) => isKept(some, (i) => held.includes(i)))
}

describe('Castings let go by one who sorts a pile by what an answer says', () => {
  it('are those of a cavity whose row is clear, though another of the pile is held', () => {
    const rows = [row(1, '1'), row(2, '2')]
    expect(kept(rows, [cell('1'), cell('2')], 0)).toEqual([true, false])
  })

  it('are none that nothing tells from those to hold', () => {
    const rows = [row(1, '1'), row(2, '1'), row(3, '')]
    expect(kept(rows, [cell('1')], 1)).toEqual([true])
    expect(kept(rows, [cell('1')], 2)).toEqual([true])
  })

  it('are those that stand there when only scrap is held, and the other way round', () => {
    const rows = [row(1, '1', { place: 'SCRAPPED' }), row(2, '1')]
    const cells = [cell('1'), cell('1', { scrapped: true })]
    expect(kept(rows, cells, 0)).toEqual([false, true])
    expect(kept(rows, cells, 1)).toEqual([true, false])
  })

  it('are those of a cavity no row names, unless all of the pile is held', () => {
    const rows = [row(1, '1'), row(2, '2')]
    expect(kept(rows, [cell('3')], 0)).toEqual([false])
    expect(kept(rows, [cell('3')], 0, 1)).toEqual([true])
  })
})
