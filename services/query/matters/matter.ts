// Holds, recalls and drills, as the facts in force tell them.
import type { Castings, FactOf, Kind, Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'

export type MatterKind = 'hold' | 'recall' | 'drill'

export interface Matter {
  no: number
  kind: MatterKind
  /** The plant's own number. */
  number: string
  at: Ms
  reason: string
  by: string
  say?: string
  due?: Ms
  /** Numbers of the answers it rests on, part by part. */
  basedOn: string[]
  /** In how many parts what it covers was said; what a missing one covers is not known. */
  parts: number
  partsMissing: number
  /** What it covers, and how many castings of each; absent is all of it. */
  covers: Map<number, Castings | undefined>
  released: Map<number, Castings | undefined>
  closed?: FactOf<'matter-closed', number>
}

/** All of one kind in a plant, newest first. */
export function mattersOf(view: View, plant: string, kind: MatterKind): Matter[] {
  const numbers = new Set(
    view.book
      .all('matter-opened', view.asOf)
      .map(({ fact }) => fact.of)
      .filter((no) => view.things.kind(no) === kind && view.things.plant(no) === plant),
  )
  return [...numbers]
    .flatMap((no) => matterOf(view, no) ?? [])
    .sort((a, b) => b.at - a.at || b.no - a.no)
}

/** Undefined for what is no matter or was taken back. */
export function matterOf(view: View, no: number): Matter | undefined {
  const { book, things, asOf } = view
  const parts = book
    .of(no, 'matter-opened', asOf)
    .map(({ fact }) => fact)
    .sort((a, b) => a.part - b.part)
  const [first] = parts
  if (!first || !isMatter(things.kind(no))) return undefined
  const [closed] = book.of(no, 'matter-closed', asOf)
  const last = parts.at(-1)!
  const all = Math.max(...parts.map((part) => part.parts))
  const said = new Set(parts.map(({ part }) => part))
  return {
    no,
    kind: things.kind(no) as MatterKind,
    number: things.name(no).replace(/^[a-z]+:/, ''),
    at: first.at,
    reason: last.reason,
    by: first.by,
    ...(last.say !== undefined && { say: last.say }),
    ...(last.due !== undefined && { due: last.due }),
    basedOn: [...new Set(parts.flatMap(({ basedOn }) => basedOn ?? []))],
    parts: all,
    partsMissing: all - said.size,
    covers: counts(book.other(no, 'covered', asOf)),
    released: counts(book.other(no, 'released', asOf)),
    ...(closed && { closed: closed.fact }),
  }
}

/** A hold goes on until all of it was released, a recall or drill until it was closed. */
export function isOpen(matter: Matter): boolean {
  if (matter.kind === 'hold') return matter.partsMissing > 0 || stillHeld(matter).length > 0
  return matter.closed === undefined
}

/** Of what a hold covers, what was not released. */
export function stillHeld({ covers, released }: Matter): number[] {
  return [...covers]
    .filter(([no, castings]) => {
      if (!released.has(no)) return true
      const free = released.get(no)
      return free !== undefined && (castings === undefined || free < castings)
    })
    .map(([no]) => no)
}

/** All that a thing holds. */
export function castingsIn(view: View, no: number): number {
  return view.castings.slotsOf(no).reduce((sum, held) => sum + held.castings, 0)
}

function isMatter(kind: Kind): kind is MatterKind {
  return kind === 'hold' || kind === 'recall' || kind === 'drill'
}

/** All of a thing where any part of the matter says so, else the most said. */
function counts(
  facts: readonly { fact: { of: number; amount?: Castings } }[],
): Map<number, Castings | undefined> {
  const found = new Map<number, Castings | undefined>()
  for (const { fact } of facts) {
    const known = found.get(fact.of)
    const whole = fact.amount === undefined || (found.has(fact.of) && known === undefined)
    found.set(fact.of, whole ? undefined : Math.max(fact.amount!, known ?? 0))
  }
  return found
}
