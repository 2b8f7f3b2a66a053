import type { Claim } from './claim.ts'
import { byKey, earliestFirst, saidFirst, stretch, strongestFirst } from './precedence.ts'

// What is in force, of all that was said: a pure function of the set of claims, in whatever order
// they come. Four steps, each on what the one before left over:
//
//   said      of every key, the statement recorded first
//   record    the statements joined down to one root, which may not have arrived
//   head      the version of a record that nobody in it supersedes
//   in force  every head without a slot, and of each slot the strongest head
//
// The contract leaves some cases open. They are settled here so that no report is lost without a
// conflict that says so; in doubt both stay in force.
//
//   A later content under a used key says nothing: it supersedes, voids and claims nothing.
//   Until a root arrives, those naming it are one record for each `about`. Once it has, those of
//     another `about` stand each by itself; a void of another `about` voids nothing but itself.
//   A correction of a version that has been corrected already is a rival of the newer one. One that
//     names a correction follows it, whoever made the two.
//   In a circle everybody is superseded, so all of it are rivals and one of them stands.
//   Several voids are one. What corrects a voided record later does not count, and is shown.
//   A handling covers the moments after its start up to its end, or its last one alone where the
//     start is not told. So handlings that only touch are two, and those that end together rivals.
//     A claim of a slot without times covers all of time.

export interface Conflict<C extends Claim = Claim> {
  sort: ConflictSort
  /** Those involved: in front the winner; else the one that joins, the least key, or the earliest. */
  claims: readonly C[]
  /** The one that counts and not the others; absent where that is not the question. */
  winner?: C
}

export type ConflictSort =
  | 'id-reused'
  | 'wrong-join'
  | 'circle'
  | 'after-void'
  | 'rival-corrections'
  | 'rival-statements'
  | 'tag-reused'

export interface View<C extends Claim> {
  inForce: Set<C>
  conflicts: Conflict<C>[]
}

/** Of any claims, those in force and what had to be decided for it; duplicates are left out. */
export function inForce<C extends Claim>(claims: Iterable<C>): View<C> {
  const contents = byContent(claims)
  const reusedIds = contents.filter((bearers) => bearers.length > 1).map(reusedId)
  const view = judge(contents.map((bearers) => bearers[0]!))
  const reusedTags = [...bySlot(view.inForce).values()].filter((held) => held.length > 1)
  return {
    inForce: view.inForce,
    conflicts: [...reusedIds, ...view.conflicts, ...reusedTags.map(reusedTag)],
  }
}

/**
 * The same of claims that bear different keys, without looking for reused tags. Claims that share no
 * key, joined or borne, and no time in a slot may be judged apart.
 */
export function judge<C extends Claim>(said: readonly C[]): View<C> {
  const conflicts: Conflict<C>[] = []
  const joined = findJoined(said, conflicts)
  const heads = gatherRecords(said, joined, conflicts).flatMap((record) =>
    findHead(record, joined, conflicts),
  )
  const holding = new Set(heads)
  for (const held of bySlot(heads).values()) {
    for (const rivals of chains(held)) {
      if (rivals.length === 1) continue
      const [winner, ...losers] = rivals.sort(strongestFirst)
      conflicts.push({ sort: 'rival-statements', claims: rivals, winner: winner! })
      for (const loser of losers) holding.delete(loser)
    }
  }
  return { inForce: holding, conflicts }
}

/** Statements of one key with different content, the one recorded first in front. */
export function reusedId<C extends Claim>(bearers: readonly C[]): Conflict<C> {
  return { sort: 'id-reused', claims: bearers, winner: bearers[0]! }
}

/** Handlings of one slot that are all in force. */
export function reusedTag<C extends Claim>(held: readonly C[]): Conflict<C> {
  return { sort: 'tag-reused', claims: held.toSorted(earliestFirst) }
}

/** A conflict in one sentence, for those who can correct it. */
export function sentence({ sort, claims }: Conflict): string {
  const [first, ...others] = claims.map(({ source, id }) => `${id} of ${source}`)
  const more = others.length > 3 ? `${others.length} others` : others.join(' and ')
  switch (sort) {
    case 'id-reused':
      return `${first} came with ${claims.length} different contents: the one recorded first counts.`
    case 'wrong-join':
      return `${first} names ${more}, of another type or subject: it neither corrects nor voids it.`
    case 'circle':
      return `${first} ${more ? `and ${more} correct each other in a circle` : 'corrects itself'}.`
    case 'after-void':
      return `${first} corrects a voided report and does not count: report it again under a new id.`
    case 'rival-corrections':
      return `${first} counts, and not ${more}: all are last versions of one report.`
    case 'rival-statements':
      return `${first} counts, and not ${more}: all report the same thing.`
    case 'tag-reused':
      return `${first} bears the tag of ${more} at another time: each counts as a handling of its own.`
  }
}

/** Of every key its contents, each as recorded first; in front the one that was said. */
function byContent<C extends Claim>(claims: Iterable<C>): C[][] {
  const keys = new Map<string, Map<string, C>>()
  for (const claim of claims) {
    const key = keyOf(claim.plant, claim)
    const contents = keys.get(key)
    if (!contents) keys.set(key, new Map([[claim.hash, claim]]))
    else {
      const same = contents.get(claim.hash)
      if (!same || saidFirst(claim, same) < 0) contents.set(claim.hash, claim)
    }
  }
  return [...keys.values()].map((contents) => [...contents.values()].sort(saidFirst))
}

/** What each claim joins: another claim, or the name of one that has not arrived. */
type Joined<C> = Map<C, C | string>

function findJoined<C extends Claim>(said: readonly C[], conflicts: Conflict<C>[]): Joined<C> {
  const joined: Joined<C> = new Map()
  const joining = said.filter((claim) => claim.joins)
  if (joining.length === 0) return joined
  const bearerOf = new Map(said.map((claim) => [keyOf(claim.plant, claim), claim]))
  for (const claim of joining) {
    const key = keyOf(claim.plant, claim.joins!)
    const named = bearerOf.get(key)
    if (!named) joined.set(claim, `${claim.about}\n${key}`)
    else if (named.about === claim.about) joined.set(claim, named)
    else conflicts.push({ sort: 'wrong-join', claims: [claim, named] })
  }
  return joined
}

/** Claims by the root they are joined down to; a circle's root is its least key. */
function gatherRecords<C extends Claim>(
  said: readonly C[],
  joined: Joined<C>,
  conflicts: Conflict<C>[],
): C[][] {
  if (joined.size === 0) return said.map((claim) => [claim])
  const rootOf = new Map<C | string, C | string>()
  for (const claim of said) {
    const path = new Set<C | string>()
    let end: C | string = claim
    while (!rootOf.has(end) && !path.has(end)) {
      path.add(end)
      end = joined.get(end as C) ?? end
    }
    let root = rootOf.get(end)
    if (root === undefined && joined.has(end as C)) {
      const circle = ([...path] as C[]).slice([...path].indexOf(end)).sort(byKey)
      conflicts.push({ sort: 'circle', claims: circle })
      root = circle[0]!
    }
    for (const step of path) rootOf.set(step, root ?? end)
  }
  return [...Map.groupBy(said, (claim) => rootOf.get(claim)!).values()]
}

/** The version that counts, or none where the record is void. */
function findHead<C extends Claim>(
  record: readonly C[],
  joined: Joined<C>,
  conflicts: Conflict<C>[],
): C[] {
  if (record.length === 1 && !record[0]!.void) return [record[0]!]
  const superseded = new Set(record.map((claim) => joined.get(claim)))
  const tips = record.filter((claim) => !superseded.has(claim))
  const voids = record.filter((claim) => claim.void).sort(saidFirst)
  if (voids.length > 0) {
    const late = tips.filter(
      (tip) => !tip.void && joined.has(tip) && tip.recorded >= voids[0]!.recorded,
    )
    for (const tip of late) conflicts.push({ sort: 'after-void', claims: [tip, ...voids] })
    return []
  }
  const rivals = (tips.length > 0 ? tips : [...record]).sort(strongestFirst)
  const winner = rivals[0]!
  if (rivals.length > 1) conflicts.push({ sort: 'rival-corrections', claims: rivals, winner })
  return [winner]
}

function bySlot<C extends Claim>(claims: Iterable<C>): Map<string, C[]> {
  const slots = new Map<string, C[]>()
  for (const claim of claims) {
    if (claim.slot === undefined) continue
    const slot = `${claim.plant}\n${claim.slot}`
    const held = slots.get(slot)
    if (held) held.push(claim)
    else slots.set(slot, [claim])
  }
  return slots
}

/** Cuts the claims of a slot wherever time passes without any of them. */
function chains<C extends Claim>(held: C[]): C[][] {
  if (held.length === 1) return [held]
  const cut: C[][] = []
  let reached = Number.NEGATIVE_INFINITY
  for (const claim of held.sort(earliestFirst)) {
    const { from, until } = stretch(claim)
    if (cut.length === 0 || from >= reached) cut.push([claim])
    else cut.at(-1)!.push(claim)
    reached = Math.max(reached, until)
  }
  return cut
}

/** A key as one string; neither plant nor source holds a line break. */
export function keyOf(plant: string, { source, id }: { source: string; id: string }): string {
  return `${plant}\n${source}\n${id}`
}
