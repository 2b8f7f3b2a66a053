// An empty embedded database, kept packed: making one anew is 2.5 s of a processor, unpacking it 0.7 s.
// It is but a saving, of databases in memory, of which tests make many, and of new folders: it holds no data and
// is made by this very version; whatever is wrong with it, a new one is made instead.
import { randomUUID } from 'node:crypto'
import { mkdir, readFile, rename, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'

const MODULES = join(import.meta.dirname, '../../node_modules')
const CACHE = join(MODULES, '.cache/heat-to-pan')

/** Undefined when none is kept, or nothing can be. */
export async function findBlank(): Promise<Blob | undefined> {
  try {
    const unzipped = gunzipSync(await readFile(await blankPath()))
    return new Blob([unzipped], { type: 'application/x-tar' })
  } catch {
    return undefined
  }
}

export async function keepBlank(blank: Blob): Promise<void> {
  try {
    await mkdir(CACHE, { recursive: true })
    // Under a name of its own first: others may be reading, or keeping theirs.
    const draft = join(CACHE, randomUUID())
    await writeFile(draft, blank.stream())
    await rename(draft, await blankPath())
  } catch {
    // Where nothing can be kept, the next one is made anew.
  }
}

async function blankPath(): Promise<string> {
  const { version } = JSON.parse(
    await readFile(join(MODULES, '@electric-sql/pglite/package.json'), 'utf8'),
  )
  return join(CACHE, `blank-${version}.tar.gz`)
}
