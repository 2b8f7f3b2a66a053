// Castings standing together somewhere, what was taken from them, and by whom. Amounts are whole
// thousandths of a casting, so that nothing is lost by halving.
import { type Ops, UNRECORDED } from '../ledger/writing.ts'
import { EMPTIED, type Mix, type Mixing } from './mixing.ts'
import { ANY, comparePieces, knownAs, type Piece, pieceOf } from './piece.ts'
import { compareRanks, type Rank } from './rank.ts'
import { ALL, BEHIND, type Held, serve, type Turn, type Wish } from './serving.ts'

export type Place = 'IN_PROCESS' | 'IN_STOCK' | 'SHIPPED' | 'SCRAPPED' | 'UNACCOUNTED'

/** Where castings ended that no other stock took. */
export interface Rest {
  place: Place
  /** Where they stand, if not where they came from. */
  thing?: number | undefined
  fate?: string | undefined
}

/** Castings taken from one stock, into another or out of the flow. */
export class Draw implements Wish {
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
}

export interface StockKind {
  /** What becomes of castings that nothing took from here. */
  place: Place
  /** A pack tells products apart, but not cavities. */
  mixesCavities?: boolean
  /** Passes compositions on as they are, mixing nothing. */
  passes?: boolean
}

const NONE: readonly never[] = []

export class Stock {
  /** The thing it is what is in. */
  readonly no: number
  readonly rank: Rank
  readonly kind: StockKind
  place: Place
  inflows: Inflow[] = []
  outs: Draw[] = []
  /** Castings that begin here: of a pour. */
  made: readonly Held[] | undefined
  /** A pour of which nobody can say how many castings it made gives what is asked. */
  endless: ((piece: Piece) => number) | undefined
  held: readonly Held[] = NONE
  left: readonly Held[] = NONE
  /** Came in here from where no report tells. Unit: thousandths of a casting. */
  unrecorded: readonly Held[] = NONE
  /** Came in and was not seen again. */
  lost: readonly Draw[] = NONE
  #mix: Mix<Stock> | undefined
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
  settle(mixing: Mixing<Stock>, changed: (taker: Stock) => void): void {
    const { outs } = this
    if (!this.#sorted && outs.length > 1) outs.sort(compareDraws)
    this.#sorted = true
    if (this.made) this.held = this.made
    else this.#gather(mixing)
    const before = outs.map(({ got, short }) => ({ got, short }))
    this.left = outs.length + this.lost.length > 0 ? serve(this.held, outs, this.lost) : this.held
    if (this.endless) for (const draw of outs) giveEndless(draw, this.endless)
    for (let i = 0; i < outs.length; i++) {
      const { into } = outs[i]!
      if (into && !sameDraw(before[i]!, outs[i]!)) changed(into)
    }
  }

  /** Nothing comes in any more. */
  clear(mixing: Mixing<Stock>): void {
    this.inflows = []
    this.#gather(mixing)
  }

  #gather(mixing: Mixing<Stock>): void {
    const parts: Held[] = []
    this.unrecorded = NONE
    this.lost = NONE
    for (const inflow of this.inflows) this.#pour(parts, inflow)
    if (parts.length > 1) parts.sort(byPiece)
    this.held = this.kind.passes ? parts : this.#mixed(mixing, parts)
  }

  /** What one inflow brings, and beside it what its counts say came from where no report tells. */
  #pour(parts: Held[], { draws, came, seen, piece }: Inflow): void {
    let [asked, all] = [0, 0]
    for (const { got, short, turn, amount, wanted } of draws) {
      let had = short
      for (const held of got) {
        add(parts, this.lands(held.piece, wanted), held.slot, held.amount)
        had += held.amount
      }
      asked += turn === ALL ? had : amount
      all += had
      if (short > 0) this.#pourUnknown(parts, wanted, short)
    }
    const rest = came === undefined ? 0 : Math.max(0, came - asked)
    if (rest > 0) this.#pourUnknown(parts, piece, rest)
    const over = seen === undefined ? 0 : all + rest - seen
    if (over > 0) this.lost = [...this.lost, lostOf(piece, over, this.rank)]
  }

  #pourUnknown(parts: Held[], wanted: Piece, amount: number): void {
    const piece = this.lands(wanted, wanted)
    add(parts, piece, UNRECORDED, amount)
    this.unrecorded = [...this.unrecorded, { piece, slot: UNRECORDED, amount }]
  }

  /** Mixes all parts of one piece; they stand next to each other. */
  #mixed(mixing: Mixing<Stock>, parts: readonly Held[]): Held[] {
    const held: Held[] = []
    const ops: Ops = []
    if (parts.length === 0 && !this.#mix) return held
    this.#mix ??= mixing.mix(this.rank, this)
    for (let first = 0, next = 0; first < parts.length; first = next) {
      const { piece } = parts[first]!
      let amount = 0
      for (; next < parts.length && parts[next]!.piece === piece; next++) {
        amount += parts[next]!.amount
      }
      const slot = this.#slotOf(piece) ?? mixing.slot(this.#mix)
      if (first > 0) ops.push(...EMPTIED)
      pushMix(ops, slot, parts.slice(first, next), amount)
      held.push({ piece, slot, amount })
    }
    mixing.write(this.#mix, ops)
    return held
  }

  #slotOf(piece: Piece): number | undefined {
    for (const held of this.held) if (held.piece === piece) return held.slot
    return undefined
  }

  /** What a casting is taken for here. */
  lands(piece: Piece, wanted: Piece): Piece {
    if (!this.kind.mixesCavities) return knownAs(piece, wanted)
    return pieceOf(piece.product || wanted.product)
  }
}

function lostOf(wanted: Piece, amount: number, rank: Rank): Draw {
  return new Draw({ wanted, amount, turn: BEHIND, rank, rest: { place: 'UNACCOUNTED' } })
}

function giveEndless(draw: Draw, slotOf: (piece: Piece) => number): void {
  if (draw.short <= 0) return
  draw.got.push({ piece: draw.wanted, slot: slotOf(draw.wanted), amount: draw.short })
  draw.short = 0
}

/** Who is served first. */
export function compareDraws(a: Draw, b: Draw): number {
  return a.turn - b.turn || compareRanks(a.rank, b.rank) || a.n - b.n
}

function sameDraw(a: Pick<Draw, 'got' | 'short'>, b: Pick<Draw, 'got' | 'short'>): boolean {
  if (a.short !== b.short || a.got.length !== b.got.length) return false
  for (let i = 0; i < a.got.length; i++) {
    const [x, y] = [a.got[i]!, b.got[i]!]
    if (x.slot !== y.slot || x.amount !== y.amount || x.piece !== y.piece) return false
  }
  return true
}

// The ledger holds amounts in 32 bits; of a mix only the proportions matter.
const MOST_MIXED = 2_000_000_000

function pushMix(ops: Ops, slot: number, parts: readonly Held[], amount: number): void {
  const scale = amount > MOST_MIXED ? MOST_MIXED / amount : 1
  let total = 0
  for (const part of parts) {
    const scaled = scale === 1 ? part.amount : Math.ceil(part.amount * scale)
    ops.push(part.slot, scaled)
    total += scaled
  }
  ops.push(slot, -total)
}

function add(parts: Held[], piece: Piece, slot: number, amount: number): void {
  const same = parts.find((part) => part.slot === slot && part.piece === piece)
  if (same) same.amount += amount
  else parts.push({ piece, slot, amount })
}

function byPiece(a: Held, b: Held): number {
  return comparePieces(a.piece, b.piece)
}

/** Of a fact, for a draw or a size. Unit: thousandths of a casting. */
export function thousandths(castings: number): number {
  return Math.round(Math.min(Math.max(castings, 0), MOST) * 1000)
}

// No plant counts a million castings at once.
const MOST = 1_000_000
