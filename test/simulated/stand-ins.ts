// Puts simulated timers, a simulated disk and a simulated database where the program asks for the real
// ones. Nothing else of it is replaced. To be imported before anything of services/.
import { registerHooks } from 'node:module'

const HERE = new URL('.', import.meta.url)
const SEGMENT = /\/services\/log\/segment\//
const WRITING = /\/services\/store\/(write|rows)\.ts$/
const CONNECTING = /\/services\/store\/connect\.ts$/
const SERVICES = /\/services\//

const STAND_INS: readonly [asked: string, by: RegExp, instead: string][] = [
  ['node:timers/promises', SERVICES, 'timers.ts'],
  ['node:fs/promises', SEGMENT, 'disk.ts'],
  ['./columns.ts', WRITING, 'columns.ts'],
  ['./copy.ts', WRITING, 'columns.ts'],
  ['./dictionary.ts', WRITING, 'dictionary.ts'],
  // What connects to real databases is not used, and takes long to load.
  ['pg', CONNECTING, 'no-database.ts'],
  ['./prisma-client.ts', CONNECTING, 'no-database.ts'],
  ['@electric-sql/pglite', CONNECTING, 'no-database.ts'],
  ['@electric-sql/pglite/node-postgres', CONNECTING, 'no-database.ts'],
]

registerHooks({
  resolve(specifier, context, next) {
    const parent = context.parentURL ?? ''
    const found = STAND_INS.find(([asked, by]) => asked === specifier && by.test(parent))
    return found ? next(new URL(found[2], HERE).href, context) : next(specifier, context)
  },
})
