// What a page loads, said with its document: over a slow line the browser would else find one file through
// another, a way there and back for each.
import { readFileSync } from 'node:fs'

/** Where the build writes down what each page loads, beside the document. */
export const MANIFEST = 'manifest.json'

/** A part of the desk, as the build writes it down. */
interface Part {
  file: string
  css?: string[]
  /** Keys of the parts it cannot do without. */
  imports?: string[]
}

/** The page of an address is built from this file. */
const sourceOf = (page: string) => `pages/${page === '' ? 'in-hand' : page}.ts`

/** Who is signed in: asked by every page before its own question. */
const WHO = '</session>; rel=preload; as=fetch; crossorigin'

/** The value of the Link header of a page's document, for one who is signed in and for a stranger. */
export type LinksOf = (page: string, isSignedIn: boolean) => string

/** Reads what was built. Throws where a page is not among it. */
export function readLinks(manifest: string, pages: Iterable<string>): LinksOf {
  const parts = JSON.parse(readFileSync(manifest, 'utf8')) as Record<string, Part>
  const ofDocument = new Set(partsOf(parts, 'index.html'))
  const links = new Map<string, string>()
  for (const page of pages) {
    const own = partsOf(parts, sourceOf(page)).filter((part) => !ofDocument.has(part))
    const scripts = own.map(({ file }) => `</${file}>; rel=modulepreload`)
    const styles = own.flatMap(({ css = [] }) =>
      css.map((file) => `</${file}>; rel=preload; as=style`),
    )
    links.set(page, [...scripts, ...styles].join(', '))
  }
  return (page, isSignedIn) => (isSignedIn ? `${links.get(page)!}, ${WHO}` : links.get(page)!)
}

/** The part and all it imports, each once. */
function partsOf(parts: Record<string, Part>, key: string, seen = new Set<Part>()): Part[] {
  const part = parts[key]
  if (!part) throw new Error(`The desk was built without ${key}: run npm run desk.`)
  if (!seen.has(part)) {
    seen.add(part)
    for (const other of part.imports ?? []) partsOf(parts, other, seen)
  }
  return [...seen]
}
