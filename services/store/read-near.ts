// Names like a mistyped one, and whether a name had been heard by a moment.
import type { Ms, Name } from '../events/fact.ts'
import { textArray } from './columns.ts'
import type { Database } from './connect.ts'
import type { MarkedPack } from './read-reports.ts'

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

/** Which of some marks are known, at most five, as they are printed. */
export async function readNearMarks(
  database: Database,
  plant: string,
  variants: readonly string[],
): Promise<string[]> {
  const { rows } = await database.query<{ mark: string }>(
    `select distinct detail ->> 'mark' as mark
     from fact join thing on thing.no = of_no
     where what = 'pack-marked' and plant = $1
       and mark_key(detail ->> 'mark') = any(array(select mark_key(unnest($2::text[]))))
     order by mark limit ${MOST_NEAR}`,
    [plant, textArray(variants)],
  )
  return rows.map(({ mark }) => mark)
}

/**
 * Packs said to bear any of some marks, whatever their case, spaces and dashes, by mark as it is compared.
 * Whether the statement that says so is in force is for the caller to see.
 */
export async function readMarkedAny(
  database: Database,
  plant: string,
  marks: readonly string[],
  most: number,
): Promise<(MarkedPack & { key: string })[]> {
  if (marks.length === 0) return []
  const { rows } = await database.query(
    `select topic, partition, "offset", of_no as pack, detail ->> 'mark' as mark,
       mark_key(detail ->> 'mark') as key
     from fact join thing on thing.no = of_no
     where what = 'pack-marked' and plant = $1
       and mark_key(detail ->> 'mark') = any(array(select mark_key(unnest($2::text[]))))
     order by of_no desc limit $3`,
    [plant, textArray(marks), most],
  )
  return rows.map((row) => ({ ...row, offset: BigInt(row.offset) }))
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
