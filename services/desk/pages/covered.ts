// What a hold or recall covers, pack by pack and bay by bay.
import type { MatterQuery } from '../asks/recall.ts'

export type Matter = NonNullable<MatterQuery['node']>
export type Recall = Extract<Matter, { __typename: 'Recall' }>
export type Hold = Extract<Matter, { __typename: 'Hold' }>
type Edge = Hold['covers']['edges'][number]

/** One thing to be found. */
export interface ToFind {
  id: string
  marks: string[]
  product: string
  /** Where it was last reported. */
  spot: string
  castings: number
  /** Said what becomes of them, or released. Unit: castings. */
  dealtWith: number
}

/** What left with a shipment is looked for by telephone. */
export function toFindIn({ covers }: Recall | Hold): ToFind[] {
  return covers.edges
    .filter(
      ({ node }) => !('places' in node && node.places.some(({ place }) => place === 'SHIPPED')),
    )
    .map(rowOf)
    .sort((a, b) => compare(a.spot, b.spot) || compare(a.id, b.id))
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
    spot: (isPack && node.places.find(({ spot }) => spot)?.spot) || 'no bay told',
    castings: Math.round(castings ?? (isPack ? (node.castings?.value ?? 0) : 0)),
    dealtWith: Math.round(released + disposed),
  }
}

function compare(a: string, b: string): number {
  return a.localeCompare(b, 'en', { numeric: true })
}
