// How much a browser loads for a page of the desk before it can ask anything.
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { buildDesk } from '../../services/desk/make/build.ts'
import type { Finding } from './finding.ts'

const BUILT = join(import.meta.dirname, '..', '..', 'services', 'desk', 'built', 'desk')
/** Limits of script and style, packed. Unit: bytes. */
const LIMITS = { inquiry: 16_000, causes: 40_000, rates: 40_000 }

export async function measureDesk(): Promise<Finding[]> {
  await buildDesk()
  const files = readdirSync(BUILT)
  return Object.entries(LIMITS).map(([page, limit]) => {
    const bytes = loadedFor(files, page).reduce((sum, file) => sum + packed(file), 0)
    return {
      what: `script and style of the page ${page}, gzip`,
      measured: `${(bytes / 1_000).toFixed(1)} kB`,
      limit: `at most ${limit / 1_000} kB`,
      pass: bytes <= limit,
    }
  })
}

/** The start of the desk and the page, with all they load at once. */
function loadedFor(files: readonly string[], page: string): string[] {
  const begun = files.filter((file) =>
    ['index', page].some((name) => new RegExp(`^${name}-[\\w-]{8}\\.(js|css)$`).test(file)),
  )
  if (!begun.some((file) => file.startsWith(page))) throw new Error(`There is no page ${page}.`)
  const loaded = new Set(begun)
  for (const file of loaded) {
    if (!file.endsWith('.js')) continue
    // What is loaded on demand stands in import(…), which this does not match.
    const imports = textOf(file).matchAll(/(?:from|import)\s*["'`]\.\/([\w-]+\.js)["'`]/g)
    for (const [, other] of imports) loaded.add(other!)
  }
  return [...loaded]
}

function textOf(file: string): string {
  return readFileSync(join(BUILT, file), 'utf8')
}

function packed(file: string): number {
  return gzipSync(textOf(file), { level: 9 }).length
}
