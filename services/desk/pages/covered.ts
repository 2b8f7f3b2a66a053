// What a hold or recall covers, pack by pack and bay by bay.
import type { MatterQuery } from '../asks/recall.ts'
import { counted } from '../words/number.ts'

export type Matter = NonNullable<MatterQuery['node']>
export type Recall = Extract<Matter, { __typename: 'Recall' }>
export type Hold = Extract<Matter, { __typename: 'Hold' }>
type Edge = Hold['covers']['edges'][number]

/** One thing to be found. */
export interface ToFind {
  id: string
  marks: string[]
  product: string
  /** Where it was last reported; empty where nobody told. */
  spot: string
  castings: number
  /** Said what becomes of them, or released. Unit: castings. */
  dealtWith: number
}

/** What left with a shipment is looked for by telephone. */
export function toFindIn({ covers }: Pick<Hold, 'covers'>): ToFind[] {
  return covers.edges
    .filter(
      ({ node }) => !('places' in node && node.places.some(({ place }) => place === 'SHIPPED')),
    )
    .map(rowOf)
    .sort(onTheWay)
}

/** Bay by bay as one walks; what is in no bay comes last. */
export function onTheWay(a: ToFind, b: ToFind): number {
  return (
    Number(a.spot === '') - Number(b.spot === '') || compare(a.spot, b.spot) || compare(a.id, b.id)
  )
}

export function spotWords({ spot }: ToFind): string {
  return spot || 'no bay told'
}

/** What did not come in may cover more. */
export function missingWords(parts: number): string[] {
  return parts === 0
    ? []
    : [
        `${counted(parts, 'part')} of what it covers did not come in: it may cover more than is shown.`,
      ]
}

export function isFound({ castings, dealtWith }: ToFind): boolean {
  return dealtWith > 0 && dealtWith >= castings
}

function rowOf({ castings, released, disposed, node }: Edge): ToFind {
  const isPack = 'places' in node
  return {
    id: node.id,
    marks: isPack ? node.marks : [],
    product: isPack ? node.products.map(({ name }) => name).join(', ') : '',
    spot: (isPack && node.places.find(({ spot }) => spot)?.spot) || '',
    castings: Math.round(castings ?? (isPack ? (node.castings?.value ?? 0) : 0)),
    dealtWith: Math.round(released + disposed),
  }
}

function compare(a: string, b: string): number {
  return a.localeCompare(b, 'en', { numeric: true })
}
