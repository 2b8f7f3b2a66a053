// Who gets what of castings that stand together. Counts are whole thousandths of a casting.
import { comparePieces, exactness, mayBe, type Piece } from './piece.ts'
import { shareOut } from './share-out.ts'
import { ALL, BEHIND, type Draw, GONE, type Held } from './stock.ts'

/**
 * Serves draws in their order from what is held, and gives what is left. `lost` is what was not seen
 * again: like what was said to stay behind, it is there for those who else fall short.
 */
export function serve(
  held: readonly Held[],
  draws: readonly Draw[],
  lost: readonly Draw[],
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

function reset(draw: Draw): void {
  draw.got = []
  draw.short = draw.turn === ALL ? 0 : draw.amount
}

/** Serves the draws of one turn together; the place of the first of the next. */
function serveTurn(left: Held[], draws: readonly Draw[], from: number, turn: Draw['turn']): number {
  let next = from
  while (next < draws.length && draws[next]!.turn === turn) next++
  if (next - from === 1) take(left, draws[from]!, draws[from]!.short)
  else if (next > from) serveAll(left, draws.slice(from, next))
  return next
}

/** Who needs more than was said to leave may have got what was said to stay. */
function serveFromBehind(behind: readonly Draw[], draws: readonly Draw[]): void {
  const needy = draws.filter(({ short }) => short > 0)
  if (needy.length === 0) return
  serveAll(
    behind.flatMap(({ got }) => got),
    needy,
  )
  for (const draw of behind) draw.got = draw.got.filter(({ amount }) => amount > 0)
}

/** The named before the unnamed; those who want the same get it in proportion. */
function serveAll(left: Held[], draws: readonly Draw[]): void {
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

function wishesOf(draws: readonly Draw[]): [wanted: Piece, draws: Draw[]][] {
  const wishes = [...Map.groupBy(draws, ({ wanted }) => wanted)]
  return wishes.sort(([a], [b]) => exactness(b) - exactness(a) || comparePieces(a, b))
}

/** Takes an amount from all that fits, in proportion; no more than there is. */
function take(left: Held[], draw: Draw, amount: number): void {
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

function give(draw: Draw, from: Held, amount: number): void {
  if (amount === 0) return
  from.amount -= amount
  draw.short = Math.max(0, draw.short - amount)
  const { piece, slot } = from
  const same = draw.got.find((got) => got.slot === slot && got.piece === piece)
  if (same) same.amount += amount
  else draw.got.push({ piece, slot, amount })
}
