import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { MANIFEST, readLinks } from '../../services/query/server/page-links.ts'

let folder: string
let manifest: string

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'links-'))
  manifest = join(folder, MANIFEST)
  const parts = {
    'index.html': { file: 'desk/index.js', imports: ['_common.js'], css: ['desk/index.css'] },
    '_common.js': { file: 'desk/common.js' },
    '_drawn.js': { file: 'desk/drawn.js', imports: ['_common.js', '_scale.js'] },
    '_scale.js': { file: 'desk/scale.js', imports: ['_drawn.js'] },
    'pages/in-hand.ts': { file: 'desk/in-hand.js', imports: ['index.html'] },
    'pages/reach.ts': {
      file: 'desk/reach.js',
      imports: ['_common.js', '_drawn.js'],
      css: ['desk/reach.css'],
    },
  }
  writeFileSync(manifest, JSON.stringify(parts))
})

afterAll(() => rmSync(folder, { recursive: true }))

it('A page is sent with the names of all it loads that its document does not name, each once', () => {
  const linksOf = readLinks(manifest, ['', 'reach'])
  expect(linksOf('', false)).toBe('</desk/in-hand.js>; rel=modulepreload')
  expect(linksOf('reach', false).split(', ')).toEqual([
    '</desk/reach.js>; rel=modulepreload',
    '</desk/drawn.js>; rel=modulepreload',
    '</desk/scale.js>; rel=modulepreload',
    '</desk/reach.css>; rel=preload; as=style',
  ])
})

it('Who is signed in is sent along to one who brings a cookie', () => {
  const linksOf = readLinks(manifest, ['reach'])
  expect(linksOf('reach', true)).toBe(
    `${linksOf('reach', false)}, </session>; rel=preload; as=fetch; crossorigin`,
  )
})

it('A page that was not built stops the start', () => {
  expect(() => readLinks(manifest, ['rates'])).toThrow(/without pages\/rates\.ts/)
})
