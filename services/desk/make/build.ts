// npm run desk    builds the pages into services/desk/built, from where query serves them
import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Plugin } from 'vite'
import { MANIFEST } from '../../query/server/page-links.ts'

const DESK = join(import.meta.dirname, '..')
const STAMP = join(DESK, 'built', 'made-from')

/** What a page loads is told by its document (page-links.ts): nothing in the browser has to find that out. */
const NO_PRELOADING: Plugin = {
  name: 'no-preloading',
  enforce: 'pre',
  load: (id) =>
    id === '\0vite/preload-helper.js' ? 'export const __vitePreload = (load) => load()' : undefined,
}

/**
 * A browser asks for six files at once: what every page has is one of them, but for asking, with which the desk
 * begins, and paper, which nobody waits for. What several have is another, and an inquiry does without.
 */
const SHARED = [
  {
    name: 'frame',
    test: /lit-html\.js|\/desk\.ts$|\/frame\/(?!ask\.|paper)|\/pages\/pages\.ts|reports-in|rolldown.runtime|words\/(moment|number|owners|states)/,
    includeDependenciesRecursively: false,
  },
  { name: 'parts', minShareCount: 2, includeDependenciesRecursively: false },
]

/**
 * Builds the pages unless they were built from just these sources; without the development packages, what was
 * built before is taken as it is.
 */
export async function buildDesk(): Promise<void> {
  if (!existsSync(join(DESK, '..', '..', 'node_modules', 'vite'))) return
  const made = digestOf(DESK)
  if (existsSync(STAMP) && readFileSync(STAMP, 'utf8') === made) return
  const { build } = await import('vite')
  await build({
    root: DESK,
    configFile: false,
    logLevel: 'warn',
    plugins: [NO_PRELOADING],
    // Whatever the process is for: what is built here is for readers.
    resolve: { conditions: ['production', 'browser', 'module'] },
    build: {
      outDir: 'built',
      emptyOutDir: true,
      assetsDir: 'desk',
      target: 'es2024',
      // Everything a page loads is a file of this house: nothing may be written into the page itself.
      assetsInlineLimit: 0,
      modulePreload: false,
      // Tells the house what each page loads, so that it is all sent for at once.
      manifest: MANIFEST,
      rolldownOptions: {
        input: { index: join(DESK, 'index.html'), worker: join(DESK, 'worker.ts') },
        // A worker answers for addresses below its own, and is found by its name.
        output: {
          entryFileNames: ({ name }) => (name === 'worker' ? 'worker.js' : 'desk/[name]-[hash].js'),
          codeSplitting: { groups: SHARED },
        },
      },
    },
  })
  writeFileSync(STAMP, made)
}

/** Of all that the build reads. */
function digestOf(folder: string): string {
  const hash = createHash('sha256')
  const files = readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name))
    .filter((path) => !path.startsWith(join(folder, 'built')))
    .sort()
  for (const path of files) hash.update(path.slice(folder.length)).update(readFileSync(path))
  hash.update(readFileSync(join(folder, '..', '..', 'package-lock.json')))
  return hash.digest('hex')
}

if (import.meta.main) await buildDesk()
