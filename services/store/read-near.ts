// Names like a mistyped one, and whether a name had been heard by a moment.
import type { Ms, Name } from '../events/fact.ts'
import { textArray } from './columns.ts'
import type { Database } from './connect.ts'

const MOST_NEAR = 5

/** Which of some numbers of one kind are known, at most five. */
export async function readNearNames(
  database: Database,
  plant: string,
  kind: string,
  variants: readonly string[],
): Promise<Name[]> {
  const { rows } = await database.query<{ name: string }>(
    `select kind || ':' || name as name from thing
     where plant = $1 and kind = $2 and name = any($3::text[]) order by name limit ${MOST_NEAR}`,
    [plant, kind, textArray(variants)],
  )
  return rows.map(({ name }) => name)
}

/** Whether a statement recorded by then names a thing. */
export async function readNamedBy(database: Database, thing: number, asOf: Ms): Promise<boolean> {
  const { rows } = await database.query<{ named: boolean }>(
    `select exists (select from statement where subject_no = $1 and recorded <= $2)
       or exists (
         select from fact join statement using (topic, partition, "offset")
         where (of_no = $1 or other_no = $1 or via_no = $1) and recorded <= $2) as named`,
    [thing, asOf],
  )
  return rows[0]!.named
}
