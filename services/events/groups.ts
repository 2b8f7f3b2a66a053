import type { Claim } from './claim.ts'
import type { Conflict } from './merge.ts'
import { stretch } from './precedence.ts'
import type { Span } from './span.ts'

// Which claims have to be judged together: those of one `about` that share a key, borne or joined, and
// those that share some time in a slot, whether or not it comes to matter. Most claims are alone, and
// then they have no group. What was once put together is never parted. Keys and slots are looked up
// for every claim there is, so what is kept for one alone is kept small.

/** What was said under a key. */
export interface Kept<C extends Claim> {
  claim: C
  group: Group<C> | undefined
  /** Absent where it is in force as one alone is: from its recording on, unless it is a void. */
  spans: readonly Span[] | undefined
}

/** Claims that are judged together. */
export interface Group<C extends Claim> {
  members: Kept<C>[]
  /** What stands decided by rule in it now, once asked for. */
  conflicts: Conflict<C>[] | undefined
}

/** A slot that more than one claim has had: the times taken up, in order and apart. */
export interface SharedSlot<C extends Claim> {
  slot: string
  covers: Cover<C>[]
}

/** A time taken up, and one of the group that does. */
interface Cover<C extends Claim> {
  from: number
  until: number
  kept: Kept<C>
}

/** From which recorded time on each has to be judged again. Unit: ms. */
export type Stirred<C extends Claim> = Map<Kept<C>, number>

interface Plant<C extends Claim> {
  bearers: Keys<Kept<C>>
  /** Who joins the key: of each `about` one. */
  joining: Keys<Joining<C>>
  slots: Map<string, Kept<C> | SharedSlot<C>>
}

type Joining<C extends Claim> = Map<string, Kept<C>>
type Key = Pick<Claim, 'source' | 'id'>

/** All claims, each with those it may have to do with. */
export class Groups<C extends Claim> {
  readonly all = new Set<Group<C>>()
  readonly sharedSlots = new Set<SharedSlot<C>>()
  readonly #plants = new Map<string, Plant<C>>()

  /** Who bears the key of a claim already. */
  bearerOf(claim: Claim): Kept<C> | undefined {
    return this.#plants.get(claim.plant)?.bearers.get(claim)
  }

  /** Puts a claim together with all it may have to do with, and notes who is to be judged again. */
  place(kept: Kept<C>, stirred: Stirred<C>): void {
    const { claim } = kept
    const plant = this.#plantOf(claim)
    stir(stirred, kept, claim.recorded)
    plant.bearers.set(claim, kept)
    for (const [about, joining] of plant.joining.get(claim) ?? []) {
      if (about === claim.about) this.#unite(joining, kept)
      else {
        // From now on it is known to have joined the wrong one.
        this.#groupOf(joining)
        stir(stirred, joining, claim.recorded)
      }
    }
    if (claim.joins) this.#join(plant, kept, claim.joins)
    if (claim.slot !== undefined) this.#occupy(plant, kept, claim.slot)
  }

  /** Those outside a group that some of it join in error: it is judged knowing that they are there. */
  wronglyJoined({ members }: Group<C>): Set<Kept<C>> {
    const outside = new Set<Kept<C>>()
    for (const { claim, group } of members) {
      const named = claim.joins && this.#plantOf(claim).bearers.get(claim.joins)
      if (named && named.group !== group) outside.add(named)
    }
    return outside
  }

  #join(plant: Plant<C>, kept: Kept<C>, key: Key): void {
    const { about } = kept.claim
    const joining = plant.joining.get(key) ?? new Map<string, Kept<C>>()
    if (joining.size === 0) plant.joining.set(key, joining)
    const other = joining.get(about)
    if (other) this.#unite(other, kept)
    else joining.set(about, kept)
    const named = plant.bearers.get(key)
    if (named?.claim.about === about) this.#unite(named, kept)
    else if (named) this.#groupOf(kept)
  }

  #occupy(plant: Plant<C>, kept: Kept<C>, slot: string): void {
    const held = plant.slots.get(slot)
    if (!held || held === kept) {
      plant.slots.set(slot, kept)
      return
    }
    const shared = 'covers' in held ? held : { slot, covers: [coverOf(held)] }
    plant.slots.set(slot, shared)
    this.sharedSlots.add(shared)
    for (const other of cover(shared.covers, kept)) this.#unite(other, kept)
  }

  #unite(a: Kept<C>, b: Kept<C>): void {
    const [one, other] = [this.#groupOf(a), this.#groupOf(b)]
    if (one === other) return
    const [large, small] = one.members.length < other.members.length ? [other, one] : [one, other]
    for (const kept of small.members) {
      kept.group = large
      large.members.push(kept)
    }
    this.all.delete(small)
  }

  #groupOf(kept: Kept<C>): Group<C> {
    if (!kept.group) {
      kept.group = { members: [kept], conflicts: undefined }
      this.all.add(kept.group)
    }
    return kept.group
  }

  #plantOf({ plant }: Claim): Plant<C> {
    const known = this.#plants.get(plant)
    if (known) return known
    const fresh = {
      bearers: new Keys<Kept<C>>(),
      joining: new Keys<Joining<C>>(),
      slots: new Map(),
    }
    this.#plants.set(plant, fresh)
    return fresh
  }
}

/** What is kept by source and id. */
class Keys<V> {
  readonly #sources = new Map<string, Map<string, V>>()

  get({ source, id }: Key): V | undefined {
    return this.#sources.get(source)?.get(id)
  }

  set({ source, id }: Key, value: V): void {
    const ids = this.#sources.get(source)
    if (ids) ids.set(id, value)
    else this.#sources.set(source, new Map([[id, value]]))
  }
}

/** The members of a slot's groups, whether they are in that slot or another. */
export function membersOf<C extends Claim>({ covers }: SharedSlot<C>): Set<Kept<C>> {
  return new Set(covers.flatMap(({ kept }) => kept.group?.members ?? [kept]))
}

function stir<C extends Claim>(stirred: Stirred<C>, kept: Kept<C>, since: number): void {
  stirred.set(kept, Math.min(since, stirred.get(kept) ?? since))
}

function coverOf<C extends Claim>(kept: Kept<C>): Cover<C> {
  return { ...stretch(kept.claim), kept }
}

/** Takes up the time of a claim, and returns those who had some of it before. */
function cover<C extends Claim>(covers: Cover<C>[], kept: Kept<C>): Kept<C>[] {
  const taken = coverOf(kept)
  let [first, last] = [0, covers.length]
  while (first < last) {
    const middle = (first + last) >> 1
    if (covers[middle]!.until > taken.from) last = middle
    else first = middle + 1
  }
  while (last < covers.length && covers[last]!.from < taken.until) last++
  const met = covers.slice(first, last)
  if (met.length > 0) {
    taken.from = Math.min(taken.from, met[0]!.from)
    taken.until = Math.max(taken.until, met.at(-1)!.until)
  }
  covers.splice(first, met.length, taken)
  return met.map((other) => other.kept)
}
