// Who gets what of castings that stand together. Counts are whole thousandths of a casting.
import { comparePieces, exactness, mayBe, type Piece } from './piece.ts'
import { shareOut } from './share-out.ts'

/** Castings of one piece and one composition. */
export interface Held {
  piece: Piece
  slot: number
  amount: number
}

/**
 * Who is served first: what left for good, what stayed behind, counts said, counts worked out, what was
 * filled in where nobody said anything, the rest.
 */
export const GONE = 0
export const BEHIND = 1
export const SAID = 2
export const SHARED = 3
export const INFERRED = 4
export const ALL = 5
export type Turn =
  | typeof GONE
  | typeof BEHIND
  | typeof SAID
  | typeof SHARED
  | typeof INFERRED
  | typeof ALL

/** What somebody wants of castings that stand together, and what they got. */
export interface Wish {
  readonly wanted: Piece
  amount: number
  readonly turn: Turn
  got: Held[]
  /** Asked for and not there. */
  short: number
}

/**
 * Serves draws in their order from what is held, and gives what is left. `lost` is what was not seen
 * again: like what was said to stay behind, it is there for those who else fall short.
 */
export function serve(
  held: readonly Held[],
  draws: readonly Wish[],
  lost: readonly Wish[],
): Held[] {
  for (const draw of draws) reset(draw)
  for (const draw of lost) reset(draw)
  const left = held.map(({ piece, slot, amount }) => ({ piece, slot, amount }))
  let next = serveTurn(left, draws, 0, GONE)
  const first = next
  next = serveTurn(left, draws, next, BEHIND)
  const behind = next === first ? lost : [...draws.slice(first, next), ...lost]
  if (lost.length > 0) serveAll(left, lost)
  while (next < draws.length && draws[next]!.turn !== ALL) {
    const from = next
    next = serveTurn(left, draws, from, draws[from]!.turn)
    if (behind.length > 0) serveFromBehind(behind, draws.slice(from, next))
  }
  for (const draw of lost) draw.short = 0
  for (; next < draws.length; next++)
    for (const one of left.splice(0)) give(draws[next]!, one, one.amount)
  return left.filter(({ amount }) => amount > 0)
}

function reset(draw: Wish): void {
  draw.got = []
  draw.short = draw.turn === ALL ? 0 : draw.amount
}

/** Serves the draws of one turn together; the place of the first of the next. */
function serveTurn(left: Held[], draws: readonly Wish[], from: number, turn: Wish['turn']): number {
  let next = from
  while (next < draws.length && draws[next]!.turn === turn) next++
  if (next - from === 1) take(left, draws[from]!, draws[from]!.short)
  else if (next > from) serveAll(left, draws.slice(from, next))
  return next
}

/** Who needs more than was said to leave may have got what was said to stay. */
function serveFromBehind(behind: readonly Wish[], draws: readonly Wish[]): void {
  const needy = draws.filter(({ short }) => short > 0)
  if (needy.length === 0) return
  serveAll(
    behind.flatMap(({ got }) => got),
    needy,
  )
  for (const draw of behind) draw.got = draw.got.filter(({ amount }) => amount > 0)
}

/** The named before the unnamed; those who want the same get it in proportion. */
function serveAll(left: Held[], draws: readonly Wish[]): void {
  const wishes = wishesOf(draws)
  for (const [wanted, group] of wishes) {
    let there = 0
    for (const held of left) if (mayBe(held.piece, wanted)) there += held.amount
    const asked = group.map(({ short }) => short)
    const total = asked.reduce((sum, amount) => sum + amount, 0)
    const parts = total <= there ? asked : shareOut(there, asked)
    for (let i = 0; i < group.length; i++) take(left, group[i]!, parts[i]!)
  }
}

function wishesOf(draws: readonly Wish[]): [wanted: Piece, draws: Wish[]][] {
  const wishes = [...Map.groupBy(draws, ({ wanted }) => wanted)]
  return wishes.sort(([a], [b]) => exactness(b) - exactness(a) || comparePieces(a, b))
}

/** Takes an amount from all that fits, in proportion; no more than there is. */
function take(left: Held[], draw: Wish, amount: number): void {
  if (amount <= 0) return
  const fit: Held[] = []
  let there = 0
  for (const held of left) {
    if (held.amount === 0 || !mayBe(held.piece, draw.wanted)) continue
    fit.push(held)
    there += held.amount
  }
  if (amount >= there) {
    for (const held of fit) give(draw, held, held.amount)
    return
  }
  const parts = shareOut(
    amount,
    fit.map((held) => held.amount),
  )
  for (let i = 0; i < fit.length; i++) give(draw, fit[i]!, parts[i]!)
}

function give(draw: Wish, from: Held, amount: number): void {
  if (amount === 0) return
  from.amount -= amount
  draw.short = Math.max(0, draw.short - amount)
  const { piece, slot } = from
  const same = draw.got.find((got) => got.slot === slot && got.piece === piece)
  if (same) same.amount += amount
  else draw.got.push({ piece, slot, amount })
}
