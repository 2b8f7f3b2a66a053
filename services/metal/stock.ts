// Castings standing together somewhere, what was taken from them, and by whom. Amounts are whole
// thousandths of a casting, so that nothing is lost by halving.
import { kept } from './kept.ts'
import { UNRECORDED } from './ledger.ts'
import type { Mix, Mixing } from './mixing.ts'
import { ANY, comparePieces, exactness, knownAs, mayBe, type Piece, pieceOf } from './piece.ts'
import { compareRanks, type Rank } from './rank.ts'
import { shareOut } from './share-out.ts'

export type Place = 'IN_PROCESS' | 'IN_STOCK' | 'SHIPPED' | 'SCRAPPED' | 'UNACCOUNTED'

/** Castings of one piece and one composition. */
export interface Held {
  piece: Piece
  slot: number
  amount: number
}

/** Where castings ended that no other stock took. */
export interface Rest {
  place: Place
  /** Where they stand, if not where they came from. */
  thing?: number | undefined
  fate?: string | undefined
}

/** Who is served first: what left for good, what stayed behind, counts said, counts worked out, the rest. */
export const GONE = 0
export const BEHIND = 1
export const SAID = 2
export const SHARED = 3
export const ALL = 4
export type Turn = typeof GONE | typeof BEHIND | typeof SAID | typeof SHARED | typeof ALL

/** Castings taken from one stock, into another or out of the flow. */
export class Draw {
  from: Stock | undefined
  into: Stock | undefined
  readonly wanted: Piece
  amount: number
  readonly turn: Turn
  readonly rank: Rank
  /** Tells apart what one report takes. */
  readonly n: number
  readonly rest: Rest | undefined
  /** Nothing stayed where it was taken from. */
  emptied = false
  got: Held[] = []
  /** Asked for and not there. */
  short = 0

  constructor(draw: {
    from?: Stock | undefined
    into?: Stock | undefined
    wanted?: Piece
    amount: number
    turn: Turn
    rank: Rank
    n?: number
    rest?: Rest | undefined
  }) {
    this.from = draw.from
    this.into = draw.into
    this.wanted = draw.wanted ?? ANY
    this.amount = draw.amount
    this.turn = draw.turn
    this.rank = draw.rank
    this.n = draw.n ?? 0
    this.rest = draw.rest
    if (!draw.from) this.short = draw.amount
  }
}

/** What came in together: what was said of it and what brought it. */
export interface Inflow {
  draws: Draw[]
  /** At least this came in; what the draws do not ask for is of unknown origin. */
  came?: number
  /** This much of it was seen again; what is over is unaccounted for. */
  seen?: number
  piece: Piece
  lost: Draw
}

export interface StockKind {
  /** What becomes of castings that nothing took from here. */
  place: Place
  /** A pack tells products apart, but not cavities. */
  mixesCavities?: boolean
  /** Passes compositions on as they are, mixing nothing. */
  passes?: boolean
}

export class Stock {
  /** The thing it is what is in. */
  readonly no: number
  readonly rank: Rank
  readonly kind: StockKind
  place: Place
  inflows: Inflow[] = []
  outs: Draw[] = []
  /** Castings that begin here: of a pour. */
  made: Held[] | undefined
  /** A pour of which nobody can say how many castings it made gives what is asked. */
  endless: ((piece: Piece) => number) | undefined
  held: Held[] = []
  left: Held[] = []
  /** Came in here from where no report tells. Unit: thousandths of a casting. */
  readonly unrecorded = new Map<Piece, number>()
  readonly #mixes = new Map<Piece, Mix>()
  #sorted = true

  constructor(no: number, rank: Rank, kind: StockKind) {
    this.no = no
    this.rank = rank
    this.kind = kind
    this.place = kind.place
  }

  add(draw: Draw): void {
    this.outs.push(draw)
    this.#sorted = false
  }

  drop(draw: Draw): void {
    const i = this.outs.indexOf(draw)
    if (i >= 0) this.outs.splice(i, 1)
  }

  /** Works out what is here and who gets it; calls back for each taker that gets something else now. */
  settle(mixing: Mixing, changed: (taker: Stock) => void): void {
    if (!this.#sorted) this.outs.sort(compareDraws)
    this.#sorted = true
    if (this.made) this.held = this.made
    else this.#gather(mixing)
    const before = this.outs.map(({ got, short }) => ({ got, short }))
    this.#serve()
    for (const [i, draw] of this.outs.entries()) {
      if (draw.into && !sameDraw(before[i]!, draw)) changed(draw.into)
    }
  }

  /** Nothing comes in any more. */
  clear(mixing: Mixing): void {
    this.inflows = []
    this.#gather(mixing)
  }

  #gather(mixing: Mixing): void {
    this.unrecorded.clear()
    const found = new Map<Piece, Map<number, number>>()
    const pour = (piece: Piece, slot: number, amount: number) => {
      if (amount <= 0) return
      const parts = kept(found, piece, () => new Map<number, number>())
      parts.set(slot, (parts.get(slot) ?? 0) + amount)
    }
    const unknown = (wanted: Piece, amount: number) => {
      if (amount <= 0) return
      const piece = this.#shape(wanted, wanted)
      pour(piece, UNRECORDED, amount)
      this.unrecorded.set(piece, (this.unrecorded.get(piece) ?? 0) + amount)
    }
    for (const { draws, came, seen, piece, lost } of this.inflows) {
      let [asked, all] = [0, 0]
      for (const draw of draws) {
        const got = draw.got.reduce((sum, held) => sum + held.amount, 0) + draw.short
        asked += draw.turn === ALL ? got : draw.amount
        all += got
        for (const held of draw.got)
          pour(this.#shape(held.piece, draw.wanted), held.slot, held.amount)
        unknown(draw.wanted, draw.short)
      }
      const rest = Math.max(0, (came ?? 0) - asked)
      unknown(piece, rest)
      lost.amount = seen === undefined ? 0 : Math.max(0, all + rest - seen)
    }
    const pieces = [...found.keys()]
    if (pieces.length > 1) pieces.sort(comparePieces)
    if (this.kind.passes) {
      this.held = pieces.flatMap((piece) =>
        [...found.get(piece)!].map(([slot, amount]) => ({ piece, slot, amount })),
      )
      return
    }
    this.held = pieces.map((piece) => this.#mix(mixing, piece, found.get(piece)!))
    for (const [piece, mix] of this.#mixes) if (!found.has(piece)) mixing.write(mix, [])
  }

  #mix(mixing: Mixing, piece: Piece, parts: Map<number, number>): Held {
    const mix = kept(this.#mixes, piece, () => mixing.mix(this.rank))
    mixing.write(mix, parts)
    let amount = 0
    for (const part of parts.values()) amount += part
    return { piece, slot: mix.slot, amount }
  }

  #serve(): void {
    this.left = this.held.map((held) => ({ ...held }))
    for (const draw of this.outs) {
      draw.got = []
      draw.short = draw.turn === ALL ? 0 : draw.amount
    }
    const lost = this.inflows.map((inflow) => inflow.lost).filter((draw) => draw.amount > 0)
    for (const { lost: draw } of this.inflows) {
      draw.got = []
      draw.short = draw.amount
    }
    const turns = Map.groupBy(this.outs, (draw) => draw.turn)
    serveAll(this.left, turns.get(GONE) ?? [])
    const behind = [...(turns.get(BEHIND) ?? []), ...lost]
    serveAll(this.left, behind)
    for (const turn of [SAID, SHARED] as const) {
      const draws = turns.get(turn) ?? []
      serveAll(this.left, draws)
      // Who needs more than was said to leave may have got what was said to stay.
      const needy = draws.filter((draw) => draw.short > 0)
      if (needy.length === 0) continue
      const kept = behind.flatMap((draw) => draw.got)
      serveAll(kept, needy)
      for (const draw of behind) draw.got = draw.got.filter((held) => held.amount > 0)
    }
    if (this.endless) for (const draw of this.outs) this.#giveEndless(draw)
    for (const draw of turns.get(ALL) ?? []) {
      draw.got = this.left.filter((held) => held.amount > 0)
      this.left = []
    }
    this.left = this.left.filter((held) => held.amount > 0)
    for (const draw of lost) draw.short = 0
  }

  #giveEndless(draw: Draw): void {
    if (draw.short <= 0) return
    draw.got.push({ piece: draw.wanted, slot: this.endless!(draw.wanted), amount: draw.short })
    draw.short = 0
  }

  #shape(piece: Piece, wanted: Piece): Piece {
    if (!this.kind.mixesCavities) return knownAs(piece, wanted)
    return pieceOf(piece.product || wanted.product)
  }
}

/** What came in and was not seen again. */
export function lostDraw(rank: Rank): Draw {
  return new Draw({ amount: 0, turn: BEHIND, rank, rest: { place: 'UNACCOUNTED' } })
}

/** The named before the unnamed; those who want the same get it in proportion. */
function serveAll(left: Held[], draws: readonly Draw[]): void {
  const needy = draws.filter((draw) => draw.short > 0)
  if (needy.length === 0) return
  if (needy.length === 1) {
    serve(left, needy[0]!, needy[0]!.short)
    return
  }
  const wishes = [...Map.groupBy(needy, (draw) => draw.wanted)]
  wishes.sort(([a], [b]) => exactness(b) - exactness(a) || comparePieces(a, b))
  for (const [wanted, group] of wishes) {
    let there = 0
    for (const held of left) if (mayBe(held.piece, wanted)) there += held.amount
    const asked = group.map((draw) => draw.short)
    const total = asked.reduce((sum, amount) => sum + amount, 0)
    const parts = total <= there ? asked : shareOut(there, asked)
    for (const [i, draw] of group.entries()) serve(left, draw, parts[i]!)
  }
}

function serve(left: Held[], draw: Draw, amount: number): void {
  const fit = left.filter((held) => held.amount > 0 && mayBe(held.piece, draw.wanted))
  const there = fit.reduce((sum, held) => sum + held.amount, 0)
  const parts =
    amount >= there
      ? fit.map((held) => held.amount)
      : shareOut(
          amount,
          fit.map((held) => held.amount),
        )
  for (const [i, held] of fit.entries()) {
    const part = parts[i]!
    if (part === 0) continue
    held.amount -= part
    draw.short -= part
    const same = draw.got.find((got) => got.slot === held.slot && got.piece === held.piece)
    if (same) same.amount += part
    else draw.got.push({ piece: held.piece, slot: held.slot, amount: part })
  }
}

/** Who is served first. */
export function compareDraws(a: Draw, b: Draw): number {
  return a.turn - b.turn || compareRanks(a.rank, b.rank) || a.n - b.n
}

function sameDraw(a: { got: Held[]; short: number }, b: { got: Held[]; short: number }): boolean {
  return (
    a.short === b.short &&
    a.got.length === b.got.length &&
    a.got.every((held, i) => {
      const other = b.got[i]!
      return held.slot === other.slot && held.amount === other.amount && held.piece === other.piece
    })
  )
}

/** Of a fact, for a draw or a size. Unit: thousandths of a casting. */
export function thousandths(castings: number): number {
  return Math.round(Math.min(Math.max(castings, 0), MOST) * 1000)
}

// What the ledger's 32 bits hold, with room to add up: no plant counts a million castings at once.
const MOST = 1_000_000
