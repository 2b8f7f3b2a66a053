// A cell's ops as they stand in a page: its head, then the pairs.

import { headOf, LAYERED, OPEN, SET, SHARING, UNKNOWN, WEIGHED } from './op.ts'
import type { Writers } from './writers.ts'

/**
 * Checks ops and packs them behind their head; a cell of a vessel that does not open it begins with
 * an empty one.
 * Throws RangeError for an op that makes no sense: such come from code, not from reports.
 */
export function packed(writers: Writers, cell: number, vessel: number, ops: number[]): Int32Array {
  const block = new Int32Array(4 + ops.length)
  block[0] = headOf(vessel)
  block[1] = cell
  let end = 2
  if (ops.length > 0 && vessel >= 0 && ops[0] !== OPEN) {
    block[end] = SET
    end += 2
  }
  for (let i = 0; i < ops.length; i += 2) {
    const slot = ops[i]!
    const amount = ops[i + 1]!
    if (amount !== (amount | 0)) throw new RangeError(`cell ${cell}: no whole amount: ${amount}`)
    if (slot === OPEN && i === 0 && amount === vessel) continue
    if (slot === OPEN) throw new RangeError(`cell ${cell} cannot open vessel ${amount} there`)
    if (slot < 0) {
      const isOp = slot >= UNKNOWN || slot === WEIGHED || slot === SHARING || slot === LAYERED
      if (!isOp || amount < 0) throw new RangeError(`cell ${cell}: no op: ${slot} ${amount}`)
      if (slot === UNKNOWN && amount === 0) continue
    } else if (!(slot < writers.count)) {
      throw new RangeError(`cell ${cell}: no slot: ${slot}`)
    } else if (amount < 0 && writers.isLeaf(slot)) {
      throw new RangeError(`cell ${cell} writes slot ${slot}, a leaf`)
    } else if (amount === 0) continue
    block[end] = slot
    block[end + 1] = amount
    end += 2
  }
  return block.subarray(0, end)
}
