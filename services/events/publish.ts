// Writes what the declarations publish into schema/; with --check it writes nothing and fails when
// something there is stale. The one script of this folder: everything it calls is pure.
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { argv, exit } from 'node:process'
import { stringify } from 'yaml'
import { asyncApi } from './async-api.ts'
import { EVENT_TYPES } from './catalog.ts'
import { schemaOf } from './json-schema.ts'
import { referencePage } from './reference-page.ts'
import type { JsonObject } from './statement.ts'

const ROOT = join(import.meta.dirname, '../..')
const MADE = '# Made by "npm run schema" from the declarations in services/events; do not edit.\n'

const published = new Map<string, string>([
  ...EVENT_TYPES.map((type): [string, string] => [
    `schema/events/${type.type}.json`,
    JSON.stringify(schemaOf(type), null, 2) + '\n',
  ]),
  ['schema/asyncapi.yaml', MADE + stringify(asyncApi(EVENT_TYPES), { lineWidth: 100 })],
  ['schema/event-types.md', referencePage(EVENT_TYPES, examples())],
])
const stale = [...published].filter(([file, text]) => read(file) !== text).map(([file]) => file)
const left = readdirSync(join(ROOT, 'schema/events'))
  .map((name) => 'schema/events/' + name)
  .filter((file) => !published.has(file))

if (argv.includes('--check')) {
  for (const file of stale) console.error(`${file} is stale: run "npm run schema".`)
  for (const file of left) console.error(`${file} belongs to no event type: run "npm run schema".`)
  if (stale.length + left.length > 0) exit(1)
  console.log(`schema: ${published.size} files are as the declarations say`)
} else {
  for (const file of stale) {
    mkdirSync(dirname(join(ROOT, file)), { recursive: true })
    writeFileSync(join(ROOT, file), published.get(file)!)
    console.log(`wrote ${file}`)
  }
  for (const file of left) rmSync(join(ROOT, file))
  console.log(`schema: ${published.size} files, ${stale.length} written, ${left.length} removed`)
}

/** The first golden event of each type. */
function examples(): Map<string, JsonObject> {
  return new Map(
    EVENT_TYPES.flatMap(({ type }): [string, JsonObject][] => {
      const golden = read(`test/golden/events/${type}.json`)
      return golden === undefined ? [] : [[type, JSON.parse(golden)[0].event]]
    }),
  )
}

function read(file: string): string | undefined {
  const path = join(ROOT, file)
  return existsSync(path) ? readFileSync(path, 'utf8') : undefined
}
