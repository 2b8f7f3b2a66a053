// What each cell depends on: the cell before it in its vessel, and who writes what it reads.

import type { Dependencies } from './order.ts'
import { blockEnd } from './pages.ts'
import type { Parts } from './parts.ts'
import type { Demand } from './place.ts'
import type { Writers } from './writers.ts'

/**
 * Dependencies of the versions in force at a moment; of every version for 'all', which also notes who
 * waits for a slot that nobody writes yet.
 */
export function dependencies(parts: Parts, asOf: number | 'all'): Dependencies {
  const { clock, chains, pages, versions } = parts
  const { page, start } = pages.places()
  const writers = asOf === 'all' ? parts.writers : writersAt(parts, asOf)
  const before = new Int32Array(clock.count).fill(-1)
  for (let vessel = 0; vessel < chains.count; vessel++) {
    const cells = chains.of(vessel)
    for (let k = 1; k < cells.length; k++) before[cells[k]!] = cells[k - 1]!
  }
  return (cell, visit) => {
    if (!pages.has(cell)) return
    if (before[cell]! >= 0) visit(before[cell]!)
    versions.eachOp(pages.list[page[cell]!]!, start[cell]!, asOf, (slot, amount) => {
      if (slot <= 0) return
      if (amount > 0) {
        if (asOf === 'all' && writers.isOpen(slot)) writers.wait(slot, cell)
        writers.each(slot, (writer) => writer !== cell && visit(writer))
      }
      // Of two that write one slot the later by the clock stands.
      else writers.each(slot, (writer) => clock.compare(writer, cell) < 0 && visit(writer))
    })
  }
}

function writersAt({ writers, pages, versions }: Parts, asOf: number): Writers {
  const then = writers.blank()
  for (const page of pages.list) {
    for (let start = 0; start < page.end; start = blockEnd(page, start)) {
      const cell = page.ops[start + 1]!
      versions.eachOp(page, start, asOf, (slot, amount) => {
        if (slot > 0 && amount < 0) then.note(slot, cell)
      })
    }
  }
  return then
}

/** Notes which slots a version of a cell writes. */
export function noteWrites(writers: Writers, cell: number, block: Int32Array): void {
  for (let i = 2; i < block.length; i += 2) {
    if (block[i]! > 0 && block[i + 1]! < 0) writers.note(block[i]!, cell)
  }
}

/** What a version of a cell asks of the order. Notes what it writes and what it waits for. */
export function demanded(parts: Parts, cell: number, block: Int32Array): Demand {
  const { writers, clock } = parts
  const demand: Demand = {
    cell,
    fresh: undefined,
    after: new Set(),
    before: new Set(),
    shared: new Set(),
  }
  for (let i = 2; i < block.length; i += 2) {
    const slot = block[i]!
    if (slot <= 0) continue
    if (block[i + 1]! > 0) {
      if (writers.isOpen(slot)) writers.wait(slot, cell)
      writers.each(slot, (writer) => writer !== cell && demand.after.add(writer))
    } else if (writers.note(slot, cell)) {
      for (const reader of writers.takeWaiting(slot)) if (reader !== cell) demand.before.add(reader)
      writers.each(slot, (writer) => {
        if (writer === cell) return
        demand.shared.add(slot)
        if (clock.compare(writer, cell) < 0) demand.after.add(writer)
        else demand.before.add(writer)
      })
    }
  }
  return demand
}
