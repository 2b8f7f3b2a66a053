import { kept } from '../kept.ts'
import { compareTexts } from '../things.ts'

/** What a casting is, as far as anyone said: a field is empty where it is not known. */
export interface Piece {
  readonly product: string
  readonly cavity: string
}

const known = new Map<string, Map<string, Piece>>()

/** Two pieces alike are one object, so they compare by identity. */
export function pieceOf(product = '', cavity = ''): Piece {
  const cavities = kept(known, product, () => new Map<string, Piece>())
  return kept(cavities, cavity, () => ({ product, cavity }))
}

/** Asks for nothing in particular. */
export const ANY = pieceOf()

/** Whether a casting may be what is wanted: what is not known rules nothing out. */
export function mayBe(piece: Piece, wanted: Piece): boolean {
  return alike(piece.product, wanted.product) && alike(piece.cavity, wanted.cavity)
}

/** A casting that was taken for what was wanted is known to be that, too. */
export function knownAs(piece: Piece, wanted: Piece): Piece {
  if (wanted === ANY || piece === wanted) return piece
  return pieceOf(piece.product || wanted.product, piece.cavity || wanted.cavity)
}

/** How much a wish says: more goes first, or what it names may be gone. */
export function exactness(wanted: Piece): number {
  if (wanted === ANY) return 0
  return wanted.product === '' ? 2 : wanted.cavity === '' ? 1 : 3
}

export function comparePieces(a: Piece, b: Piece): number {
  return compareTexts(a.product, b.product) || compareTexts(a.cavity, b.cavity)
}

function alike(a: string, b: string): boolean {
  return a === b || a === '' || b === ''
}
