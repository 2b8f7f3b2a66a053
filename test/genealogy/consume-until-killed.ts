// A genealogy in a process of its own that kills itself at a named statement, as a power switch would.
//   node consume-until-killed.ts LOG_FOLDER DATABASE_PLACE [before|after STATEMENT_START SLICE]
import { genealogy } from '../../services/genealogy/consume.ts'
import { prepareRecord } from '../../services/genealogy/prepare.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { connect, type Database, type Store } from '../../services/store/connect.ts'
import { CopyIn } from '../../services/store/copy.ts'

const [folder, place, when, start, slice] = process.argv.slice(2)
const log = await openSegmentLog({ folder: folder!, topics: topicsOf(), partitions: 2 })
const store = await connect(JSON.parse(place!))
await prepareRecord(store, () => undefined)
let slices = 0
const reader = genealogy({
  ...{ store: start ? killing(store) : store, log, now: () => 0, tell: console.log },
  written: () => {
    slices++
  },
})
const following = await log.follow(reader)
await following.settled()
await following.stop()
await store.close()
await log.close()

function killing(store: Store): Store {
  const watch = <Asked extends Database>(asked: Asked): Asked => {
    const query = asked.query.bind(asked) as (...args: unknown[]) => Promise<unknown>
    return Object.create(asked, {
      query: {
        async value(...args: [string | { text: string } | CopyIn]) {
          const [asked] = args
          const text = (typeof asked === 'string' ? asked : asked.text).trim()
          const due = text.startsWith(start!) && slices >= Number(slice)
          if (due && when === 'before') process.kill(process.pid, 'SIGKILL')
          const result = await query(...args)
          if (asked instanceof CopyIn) await asked.ended
          if (due && when === 'after') process.kill(process.pid, 'SIGKILL')
          return result
        },
      },
    })
  }
  const connectClient = store.pool.connect.bind(store.pool)
  const pool = Object.create(watch(store.pool), {
    connect: { value: async () => watch(await connectClient()) },
  })
  return { ...store, pool }
}
