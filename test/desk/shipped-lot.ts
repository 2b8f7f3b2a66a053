import type { WorkedHouse } from '../house.ts'

/** A lot that much of what was shipped is of. */
export async function shippedLotOf(worked: WorkedHouse): Promise<string> {
  const { shipments } = await worked.ask(
    '{ shipments(first: 1) { edges { node { packs { of { id } } } } } }',
  )
  const { origins } = await worked.ask(
    'query ($id: ID!) { origins(of: {id: $id}) { ... on Origins { lots(first: 1) { edges { node { id } } } } } }',
    { id: shipments.edges[0].node.packs[0].of.id },
  )
  return origins.lots.edges[0].node.id
}
