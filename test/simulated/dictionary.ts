// Stands in for services/store/dictionary.ts under the write path.
import { Numbers, type PlantName } from '../../services/store/dictionary.ts'
import type { Session } from './session.ts'

export async function numberThings(
  pool: { connect(): Promise<Session> },
  things: Iterable<PlantName>,
): Promise<Numbers> {
  const numbers = new Numbers()
  const asked = [...things]
  for (const thing of asked) if (thing.name.includes('\0')) numbers.refuse(thing, 'no such text')
  const session = await pool.connect()
  try {
    const names = asked.map(({ plant, name }) => `${plant}/${name}`)
    const given = await session.number([...new Set(names)])
    asked.forEach((thing, i) => {
      if (!thing.name.includes('\0')) numbers.add(thing, given.get(names[i]!)!)
    })
  } finally {
    session.release()
  }
  return numbers
}
