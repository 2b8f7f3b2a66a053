// What COPY does by itself with the rows that genealogy writes: the yardstick of its speed.
import { copyText } from '../../services/store/columns.ts'
import { type Store, transaction } from '../../services/store/connect.ts'
import { copyIn } from '../../services/store/copy.ts'
import { findThings, type PlantName, THING, thingRow } from '../../services/store/dictionary.ts'
import {
  type Aside,
  type KeptRecord,
  namesIn,
  type Said,
} from '../../services/store/kept-record.ts'
import {
  asideRow,
  FACT,
  factRows,
  SET_ASIDE,
  STATEMENT,
  statementRow,
} from '../../services/store/rows.ts'

export interface Ready {
  copy: string
  rows: Buffer
}

/** What these records came to in a database, with the things above a number, ready to be sent to another. */
export async function readyRows(
  ours: Store,
  records: readonly KeptRecord[],
  knownNo = 0,
): Promise<Ready[]> {
  const numbers = await findThings(ours.pool, records.flatMap(namesIn))
  const said = records.filter(({ outcome }) => 'statement' in outcome) as KeptRecord<Said>[]
  const aside = records.filter(({ outcome }) => 'class' in outcome) as KeptRecord<Aside>[]
  const { rows: things } = await ours.pool.query<PlantName & { no: number }>(
    `select no, plant, kind || ':' || name as name from thing where no > $1 order by no`,
    [knownNo],
  )
  return [
    {
      copy: 'copy thing (no, plant, kind, name) from stdin',
      rows: copyText(THING, things.map(thingRow)),
    },
    {
      copy: STATEMENT.copy,
      rows: copyText(
        STATEMENT,
        said.map((record) => statementRow(record, numbers)),
      ),
    },
    {
      copy: FACT.copy,
      rows: copyText(
        FACT,
        said.flatMap((record) => factRows(record, numbers)),
      ),
    },
    { copy: SET_ASIDE.copy, rows: copyText(SET_ASIDE, aside.map(asideRow)) },
  ]
}

export async function copyAll(store: Store, tables: readonly Ready[]): Promise<void> {
  await transaction(store, async (client) => {
    for (const { copy, rows } of tables) await copyIn(client, copy, rows)
  })
}

export async function timed(work: () => Promise<unknown>): Promise<number> {
  const began = performance.now()
  await work()
  return performance.now() - began
}
