// A house with doors only, in a process of its own: the other half of the tests that kill it. Argument:
// the data folder. Says its address on its output when it answers.
import { once } from 'node:events'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { join } from 'node:path'
import { openAccess } from '../../services/access/access.ts'
import { lockFolder } from '../../services/log/segment/folder-lock.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { settingsFrom } from '../../services/settings.ts'
import { openDoor } from '../../services/stations/door.ts'
import { intakeListener } from '../../services/stations/http.ts'

const folder = process.argv[2]!
const lock = await lockFolder(folder)
const log = await openSegmentLog({ folder: join(folder, 'log'), topics: topicsOf() })
const { whoSends } = await openAccess(settingsFrom({ HEAT_TO_PAN_DATA: folder }), console.error)
const listener = intakeListener({ door: await openDoor({ log }), whoSends })
const server = createServer((request, response) => void listener(request, response))
server.listen(0, '127.0.0.1')
await once(server, 'listening')
const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`
lock.announce(address)
console.log(address)
