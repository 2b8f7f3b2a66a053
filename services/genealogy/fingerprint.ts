// Two databases that say the same have the same fingerprint, whatever the order of arrival, the
// partitions and the numbers things were given.
import { hash } from 'node:crypto'
import { canonical } from '../events/canonical.ts'
import type { JsonObject, JsonValue } from '../events/statement.ts'
import type { Store } from '../store/connect.ts'
import type { PlantName } from '../store/dictionary.ts'
import {
  type Chunk,
  type FactRow,
  factOf,
  readInForce,
  readNames,
  readPositions,
  readSince,
  type StatementRow,
  snapshot,
} from '../store/read.ts'

/** SHA-256 over the statements in force and their facts, by name; lower-case hex. */
export async function fingerprint(store: Store): Promise<string> {
  const digests: string[] = []
  await snapshot(store, async (database) => {
    const inForce = await readInForce(database)
    for (const { topic, partition } of await readPositions(database)) {
      const held = inForce.get(`${topic}/${partition}`)
      if (!held) continue
      for await (const chunk of readSince(database, { topic, partition, next: 0n })) {
        const facts = Map.groupBy(chunk.facts, ([offset]) => offset)
        const names = await readNames(database, [...numbersIn(chunk)])
        for (const row of chunk.statements) {
          if (!held.has(row[0])) continue
          digests.push(digestOf(row, facts.get(row[0]) ?? [], names))
        }
      }
    }
  })
  return hash('sha256', digests.sort().join('\n'), 'hex')
}

function digestOf(
  [, , recorded, plant, , source, id, , , said]: StatementRow,
  facts: FactRow[],
  names: ReadonlyMap<number, PlantName>,
): string {
  const named = facts.map((fact) => namedFact(fact, names))
  return hash('sha256', canonical([plant, source, id, said, recorded, named]), 'hex')
}

/** The fact with its things by name, as JSON. */
function namedFact(row: FactRow, names: ReadonlyMap<number, PlantName>): JsonObject {
  const fact = { ...factOf(row) } as unknown as Record<string, JsonValue>
  for (const field of ['of', 'other', 'via'] as const) {
    if (fact[field] === undefined) continue
    const thing = names.get(fact[field] as number)
    if (!thing) throw new Error(`Thing ${fact[field]} is in a fact and not in the dictionary.`)
    fact[field] = thing.name
  }
  return fact
}

function numbersIn({ facts }: Chunk): Set<number> {
  const numbers = new Set<number>()
  for (const [, , , of, other, via] of facts)
    for (const no of [of, other, via]) if (no !== null) numbers.add(no)
  return numbers
}
