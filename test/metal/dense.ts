// A plant as one system of linear equations, solved all at once by a general library: it knows nothing
// of orders and sweeps.

import { Matrix, solve } from 'ml-matrix'
import type { Plant, PlantCell, PlantOp } from './plants.ts'

/**
 * Shares of each leaf and of what is unrecorded in every slot: `shares[slot][source]`, sources 0 for
 * unrecorded, then the leaves. For plants with one version a cell, one writer a slot, no circles.
 */
export function denseShares(plant: Plant): number[][] {
  const rows: Map<number, number>[] = []
  const last = new Map<number, number>()
  const mass = new Map<number, number>()
  // Unknowns: first a share for each slot, then the amount in the vessel after each op.
  for (let slot = 0; slot < plant.slots; slot++) rows.push(new Map([[slot, 1]]))
  const written = new Set<number>()
  for (const cell of [...plant.cells].sort(byClock)) {
    const ops = acting(cell)
    let before = cell.vessel < 0 ? undefined : last.get(cell.vessel)
    let M = cell.vessel < 0 ? 0 : (mass.get(cell.vessel) ?? 0)
    for (const op of ops) {
      const after = rows.length
      const row = new Map([[after, 1]])
      const add = (unknown: number | undefined, factor: number) => {
        if (unknown !== undefined) row.set(unknown, (row.get(unknown) ?? 0) - factor)
      }
      if (op.op === 'in') {
        add(before, 1)
        add(op.slot, op.amount)
        M += op.amount
      } else if (op.op === 'out') {
        const short = Math.max(0, op.amount - M)
        const gap = short > op.amount / 20 ? short : 0
        const from = M + gap
        const share = new Map([[op.slot, 1]])
        if (before !== undefined) share.set(before, -1 / from)
        share.set(0, -gap / from)
        rows[op.slot] = share
        written.add(op.slot)
        M = Math.max(0, M - op.amount)
        add(before, M / from)
      } else if (op.op === 'fresh') {
        M = 0
      } else if (op.op === 'set') {
        const surplus = op.amount - M
        if (surplus > 0 && (M === 0 || surplus > op.tolerance)) {
          add(before, 1)
          add(0, surplus)
        } else if (op.amount > 0) add(before, op.amount / M)
        M = op.amount
      } else add(before, 1)
      rows.push(row)
      before = after
    }
    if (cell.vessel >= 0 && before !== undefined) {
      last.set(cell.vessel, before)
      mass.set(cell.vessel, M)
    }
  }
  for (let slot = 1 + plant.leaves; slot < plant.slots; slot++) {
    if (!written.has(slot)) rows[slot]!.set(0, -1)
  }
  const A = Matrix.zeros(rows.length, rows.length)
  for (const [r, row] of rows.entries()) for (const [c, value] of row) A.set(r, c, value)
  const b = Matrix.zeros(rows.length, 1 + plant.leaves)
  for (let source = 0; source <= plant.leaves; source++) b.set(source, source, 1)
  return solve(A, b).to2DArray().slice(0, plant.slots)
}

export function byClock(a: PlantCell, b: PlantCell): number {
  return a.at - b.at || a.tie - b.tie
}

/** A cell of which only the mixing afresh was said did nothing. */
export function acting(cell: PlantCell): PlantOp[] {
  const { ops } = cell.versions[0]!
  return ops.every((op) => op.op === 'fresh') ? [] : ops
}
