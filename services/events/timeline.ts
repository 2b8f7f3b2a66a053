import type { Claim } from './claim.ts'
import { type Group, Groups, type Kept, membersOf, type Stirred } from './groups.ts'
import { type Conflict, judge, keyOf, reusedId, reusedTag } from './merge.ts'
import { saidFirst, strongestFirst } from './precedence.ts'
import { hold, holds, rewind, type Span } from './span.ts'

// Keeps for every claim the spans of recorded time in which it is in force, as claims come in. The
// view as of a moment is the view of what was recorded by then, so a claim changes nothing before
// its own recording. Only the groups that new claims belong to are judged anew.

/** One claim and its spans, as they were and as they are. */
export interface Change<C extends Claim> {
  claim: C
  before: readonly Span[]
  after: readonly Span[]
}

/** What is in force over recorded time. C is the callers': they hang on their claims what they like. */
export class Timeline<C extends Claim> {
  readonly #groups = new Groups<C>()
  readonly #ends = new WeakMap<Group<C>, End<C>>()
  /** Of keys that came with several contents, each as recorded first, by hash. */
  readonly #reusedIds = new Map<Kept<C>, Map<string, C>>()

  /** Takes claims in any order, and says whose spans changed. What is known already changes none. */
  add(claims: Iterable<C>): Change<C>[] {
    const changes: Change<C>[] = []
    const stirred: Stirred<C> = new Map()
    for (const claim of claims) {
      const kept = this.#keep(claim, changes)
      if (kept) this.#groups.place(kept, stirred)
    }
    const groups = new Map<Group<C>, { since: number; stirred: Set<Kept<C>> }>()
    for (const [kept, since] of stirred) {
      const { claim, group } = kept
      if (group) {
        const own = groups.get(group) ?? { since, stirred: new Set() }
        own.since = Math.min(own.since, since)
        groups.set(group, { ...own, stirred: own.stirred.add(kept) })
      } else {
        kept.spans = undefined
        pushChange(changes, claim, NEVER, spansOf(kept))
      }
    }
    for (const [group, { since, stirred }] of groups)
      if (!this.#goOn(group, since, stirred, changes)) this.#settle(group, since, changes)
    return changes
  }

  /** What stands decided by rule now, and would be better corrected. */
  *conflicts(): Generator<Conflict<C>> {
    for (const contents of this.#reusedIds.values()) {
      yield reusedId([...contents.values()].sort(saidFirst))
    }
    for (const group of this.#groups.all) yield* this.#conflictsOf(group)
    for (const shared of this.#groups.sharedSlots) {
      const held = [...membersOf(shared)].filter(
        (kept) => kept.claim.slot === shared.slot && holds(spansOf(kept)),
      )
      if (held.length > 1) yield reusedTag(held.map(({ claim }) => claim))
    }
  }

  /** Where a claim is to be kept: nowhere if its key has come before and the other goes first. */
  #keep(claim: C, changes: Change<C>[]): Kept<C> | undefined {
    const kept = this.#groups.bearerOf(claim)
    if (!kept) return { claim, group: undefined, spans: NEVER }
    this.#noteContents(kept, claim)
    if (saidFirst(kept.claim, claim) <= 0) return undefined
    pushChange(changes, kept.claim, spansOf(kept), NEVER)
    kept.claim = claim
    kept.spans = NEVER
    return kept
  }

  #noteContents(kept: Kept<C>, claim: C): void {
    let contents = this.#reusedIds.get(kept)
    if (!contents) {
      if (claim.hash === kept.claim.hash) return
      contents = new Map([[kept.claim.hash, kept.claim]])
      this.#reusedIds.set(kept, contents)
    }
    const same = contents.get(claim.hash)
    if (!same || saidFirst(claim, same) < 0) contents.set(claim.hash, claim)
  }

  /** Judges a group again at every moment from `since` on at which anything of it was recorded. */
  #settle(group: Group<C>, since: number, changes: Change<C>[]): void {
    const before = group.members.map(spansOf)
    for (const [i, kept] of group.members.entries()) kept.spans = rewind(before[i]!, since)
    const outside = this.#groups.wronglyJoined(group)
    const heard = [...group.members, ...outside].sort(byRecorded)
    const race: Race<C> = { running: [], joined: findJoinedKeys(heard) }
    runOn(race, heard, since, group)
    group.conflicts = undefined
    for (const [i, kept] of group.members.entries()) {
      pushChange(changes, kept.claim, before[i]!, spansOf(kept))
    }
    const until = heard.at(-1)!.claim.recorded
    if (outside.size > 0) this.#ends.delete(group)
    else this.#ends.set(group, { ...race, until, members: group.members.length })
  }

  /**
   * Judges what came behind all else of its group, knowing how that stood: a report corrected a thousand
   * times costs no more than one corrected twice. False where what is known does not do.
   */
  #goOn(
    group: Group<C>,
    since: number,
    stirred: ReadonlySet<Kept<C>>,
    changes: Change<C>[],
  ): boolean {
    const end = this.#ends.get(group)
    if (!end || since <= end.until) return false
    const fresh = group.members.slice(end.members)
    if (stirred.size !== fresh.length) return false
    if (!fresh.every((kept) => stirred.has(kept) && this.#goesOn(end, kept, group))) return false
    const running = [...end.running, ...fresh]
    const before = running.map(spansOf)
    fresh.sort(byRecorded)
    runOn(end, fresh, since, group)
    group.conflicts = undefined
    for (const [i, kept] of running.entries())
      pushChange(changes, kept.claim, before[i]!, spansOf(kept))
    end.until = fresh.at(-1)!.claim.recorded
    end.members = group.members.length
    return true
  }

  /** Whether it leaves alone who was beaten before: it joins what was joined, and nobody joins it yet. */
  #goesOn({ joined, until }: End<C>, { claim }: Kept<C>, group: Group<C>): boolean {
    const { plant, joins, recorded } = claim
    if (recorded <= until || joined.has(keyOf(plant, claim))) return false
    if (!joins) return true
    const named = this.#groups.bearerOf({ ...claim, ...joins })
    return joined.has(keyOf(plant, joins)) && (!named || named.group === group)
  }

  #conflictsOf(group: Group<C>): Conflict<C>[] {
    if (!group.conflicts) {
      const members = new Set(group.members.map(({ claim }) => claim))
      const outside = [...this.#groups.wronglyJoined(group)].map(({ claim }) => claim)
      const { conflicts } = judge([...members, ...outside])
      // Those outside have a group of their own.
      group.conflicts = conflicts.filter(({ claims }) => members.has(claims[0]!))
    }
    return group.conflicts
  }
}

/** Those of a group that may still come into force, as time goes on. */
interface Race<C extends Claim> {
  running: Kept<C>[]
  joined: JoinedKeys
}

/** How a group stood when all of it that was known had been judged. */
interface End<C extends Claim> extends Race<C> {
  /** Recorded time of the last. */
  until: number
  members: number
}

/** Lets claims in as they were recorded, and judges at every moment from `since` on. */
function runOn<C extends Claim>(
  race: Race<C>,
  heard: readonly Kept<C>[],
  since: number,
  group: Group<C>,
): void {
  for (const [i, kept] of heard.entries()) {
    race.running.push(kept)
    const now = kept.claim.recorded
    if (now < since || heard[i + 1]?.claim.recorded === now) continue
    const contenders = withoutBeaten(race.running, race.joined)
    const { inForce } = judge(contenders.map(({ claim }) => claim))
    for (const one of race.running)
      if (one.group === group) one.spans = hold(spansOf(one), now, inForce.has(one.claim))
    race.running = contenders
  }
}

function byRecorded(a: Kept<Claim>, b: Kept<Claim>): number {
  return a.claim.recorded - b.claim.recorded
}

const NEVER: readonly Span[] = []

function spansOf({ claim, spans }: Kept<Claim>): readonly Span[] {
  if (spans) return spans
  return claim.void ? NEVER : [{ since: claim.recorded, until: Number.POSITIVE_INFINITY }]
}

/** The keys that are joined by any of these, each with the `about` of who bears it here, if anybody. */
type JoinedKeys = Map<string, string | undefined>

function findJoinedKeys(heard: readonly Kept<Claim>[]): JoinedKeys {
  const joined: JoinedKeys = new Map()
  for (const { claim } of heard) {
    if (claim.joins) joined.set(keyOf(claim.plant, claim.joins), undefined)
  }
  if (joined.size === 0) return joined
  for (const { claim } of heard) {
    const key = keyOf(claim.plant, claim)
    if (joined.has(key)) joined.set(key, claim.about)
  }
  return joined
}

/**
 * Leaves out what can never be in force again. Without it a machine whose counter is stuck, or that
 * corrects the same report for ever, would cost more with every report.
 */
function withoutBeaten<C extends Claim>(running: Kept<C>[], joined: JoinedKeys): Kept<C>[] {
  const left: Kept<C>[] = []
  const best = new Map<string, Kept<C>>()
  for (const kept of running) {
    const contest = contestOf(kept.claim, joined)
    if (contest === undefined) left.push(kept)
    else {
      const other = best.get(contest)
      if (!other || strongestFirst(kept.claim, other.claim) < 0) best.set(contest, kept)
    }
  }
  return [...left, ...best.values()]
}

/** Where a claim that is beaten once is beaten for good, since nothing joins it. */
function contestOf(claim: Claim, joined: JoinedKeys): string | undefined {
  const { plant, about, joins, slot, from, until } = claim
  if (claim.void || (joined.size > 0 && joined.has(keyOf(plant, claim)))) return undefined
  if (joins) {
    const key = keyOf(plant, joins)
    return about === (joined.get(key) ?? about) ? `corrects ${key}\n${about}` : undefined
  }
  return from === undefined && until === undefined && slot !== undefined ? `in ${slot}` : undefined
}

function pushChange<C extends Claim>(
  changes: Change<C>[],
  claim: C,
  before: readonly Span[],
  after: readonly Span[],
): void {
  const same =
    before.length === after.length &&
    before.every(({ since, until }, i) => since === after[i]!.since && until === after[i]!.until)
  if (!same) changes.push({ claim, before, after })
}
