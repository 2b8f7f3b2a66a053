// The pages of the desk as they were built: one document for every page, and the files it loads.
import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { extname, join } from 'node:path'
import { Kind, parse } from 'graphql'
import { bringsCookie } from '../../access/sign-in.ts'
import { addressOf, type Listener } from './http.ts'
import { type Packing, pack, packingFor } from './packing.ts'
import { MANIFEST, readLinks } from './page-links.ts'

const DESK = join(import.meta.dirname, '..', '..', 'desk')

/** Nothing from elsewhere, nothing written into the page itself, and no text taken for a program. */
const POLICY =
  "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; worker-src 'self'; " +
  "img-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

/** Pages by the first part of their address; each is the same document. */
export const PAGES: ReadonlySet<string> = new Set([
  ...['', 'inquiry', 'origins', 'reach', 'causes', 'rates', 'recall', 'floor', 'drill'],
  ...['calls', 'waiting', 'report', 'set-aside', 'answer'],
])

const TYPES: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.woff2': 'font/woff2',
  '.wasm': 'application/wasm',
}

interface Built {
  headers: Record<string, string>
  body: Buffer
  /** Packed when it is first asked for so. */
  packed(packing: Packing): Promise<Buffer>
}

/** Answers what was built; undefined where nothing was. */
export function deskListener(folder = join(DESK, 'built')): Listener | undefined {
  if (!existsSync(join(folder, 'index.html'))) return undefined
  const files = new Map<string, Built>()
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const path = join(entry.parentPath, entry.name)
    const type = TYPES[extname(entry.name)]
    if (entry.isFile() && type)
      files.set(path.slice(folder.length).replaceAll('\\', '/'), builtOf(path, type))
  }
  files.delete(`/${MANIFEST}`)
  const linksOf = readLinks(join(folder, MANIFEST), PAGES)
  return async (request, response) => {
    if (request.method !== 'GET' && request.method !== 'HEAD') return false
    const { path } = addressOf(request)
    const page = path.split('/')[1]!
    const isPage = PAGES.has(page)
    const file = files.get(isPage ? '/index.html' : path)
    if (!file) return false
    const packing = packingFor(request)
    const body = packing ? await file.packed(packing) : file.body
    response.writeHead(200, {
      ...file.headers,
      'content-length': body.length,
      vary: 'accept-encoding',
      ...(isPage && {
        link: linksOf(page, bringsCookie(request)),
        vary: 'accept-encoding, cookie',
      }),
      ...(packing && { 'content-encoding': packing }),
    })
    response.end(request.method === 'HEAD' ? undefined : body)
    return true
  }
}

function builtOf(path: string, type: string): Built {
  const body = readFileSync(path)
  const packed = new Map<Packing, Promise<Buffer>>()
  const isNamedByContent = /-[\w-]{8}\.\w+$/.test(path)
  const headers = {
    'content-type': type,
    'content-security-policy': POLICY,
    // The name of a built file changes with what is in it.
    'cache-control': isNamedByContent ? 'public, max-age=31536000, immutable' : 'no-cache',
  }
  return {
    ...{ headers, body },
    packed: (packing) => {
      const before = packed.get(packing) ?? pack(body, packing, 'once')
      packed.set(packing, before)
      return before
    },
  }
}

const FRAGMENTS = 'fragments.graphql'

/** What the desk asks, by the names of their files: each with the shared fragments that it uses. */
export function deskDocuments(): Record<string, string> {
  const folder = join(DESK, 'asks')
  const read = (file: string) => readFileSync(join(folder, file), 'utf8')
  const shared = fragmentsIn(read(FRAGMENTS))
  return Object.fromEntries(
    readdirSync(folder)
      .filter((file) => file.endsWith('.graphql') && file !== FRAGMENTS)
      .map((file) => [file, withFragments(read(file), shared)]),
  )
}

/** Texts of fragments by their names. */
function fragmentsIn(text: string): Map<string, string> {
  return new Map(
    parse(text).definitions.flatMap((definition) =>
      definition.kind === Kind.FRAGMENT_DEFINITION
        ? [[definition.name.value, text.slice(definition.loc!.start, definition.loc!.end)]]
        : [],
    ),
  )
}

function withFragments(text: string, shared: ReadonlyMap<string, string>): string {
  const used = new Map<string, string>()
  const take = (part: string) => {
    for (const [, name] of part.matchAll(/\.\.\.(\w+)/g)) {
      const fragment = shared.get(name!)
      if (fragment === undefined || used.has(name!)) continue
      used.set(name!, fragment)
      take(fragment)
    }
  }
  take(text)
  return [text.trimEnd(), ...used.values()].join('\n\n')
}
