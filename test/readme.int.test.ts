// Holds README.md and DEVELOPERS.md to what the house does: their questions are asked of the foundry
// they quote, their commands are run, in the order in which they stand.
import { execFile, execFileSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { isDeepStrictEqual } from 'node:util'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { type House, openHouse } from '../services/house.ts'
import { PLANT } from '../services/plant/names.ts'
import { DEMO, type Worked, workDemo } from '../services/plant/work.ts'
import { settingsFrom } from '../services/settings.ts'

const ROOT = join(import.meta.dirname, '..')
const page = (name: string) => readFileSync(join(ROOT, name), 'utf8')
const README = page('README.md')
const DEVELOPERS = page('DEVELOPERS.md')
const SCRIPTS = (JSON.parse(page('package.json')) as { scripts: Record<string, string> }).scripts
const ADDRESS = 'http://127.0.0.1:4000'
/** Where the demo keeps what it took in. */
const FOLDER = join('data', 'demo')

interface Block {
  language: string
  /** Behind the language: the name of a file. */
  name: string
  text: string
  line: number
}

const blocks = blocksOf(README)

describe('README.md', () => {
  let here: string
  let house: House
  let worked: Worked

  beforeAll(async () => {
    here = await mkdtemp(join(tmpdir(), 'readme-'))
    const settings = settingsFrom({
      HEAT_TO_PAN_DATA: join(here, FOLDER),
      HEAT_TO_PAN_PLANT: PLANT,
      HEAT_TO_PAN_PORT: '0',
    })
    house = await openHouse({ settings, demo: true, tell: () => undefined })
    worked = await workDemo(house, DEMO)
  })

  afterAll(async () => {
    await house?.[Symbol.asyncDispose]()
    await rm(here, { recursive: true, force: true })
  })

  it('quotes what the doors say of the demo', () => {
    const { accepted, duplicate, refused } = worked.outcomes
    expect(README).toContain(
      `${accepted} accepted, ${duplicate} said before, ${refused} refused by the doors.`,
    )
  })

  it('gives every question an answer, and every other example its outcome', () => {
    const lone = blocks.filter(
      ({ language }, i) => language === 'graphql' && blocks[i + 1]?.language !== 'json',
    )
    expect(lone.map(({ line }) => line)).toEqual([])
    expect(blocks.filter(({ language }) => language === 'graphql').length).toBeGreaterThan(2)
  })

  it.each(steps())('line $line: $title', async ({ block, outcome }) => {
    if (block.language === 'ndjson') return writeFile(join(here, block.name), block.text)
    if (block.language === 'graphql') {
      await house.settled()
      return sameAs(outcome!.text, await ask(house, block.text))
    }
    for (const command of commandsOf(block.text)) {
      if (command.includes('npm run rebuild')) await house[Symbol.asyncDispose]()
      const said = await run(command, { here, address: house.address })
      if (outcome?.language === 'json') sameAs(outcome.text, JSON.parse(said))
      if (outcome?.language === 'text') expect(steady(said)).toBe(steady(outcome.text))
    }
  })

  it('names every setting there is, and no other', () => {
    const named = new Set(README.match(/HEAT_TO_PAN_[A-Z_]*[A-Z]/g))
    const read = new Set(page('services/settings.ts').match(/HEAT_TO_PAN_[A-Z_]*[A-Z]/g))
    expect([...named].sort()).toEqual([...read].sort())
  })
})

describe('DEVELOPERS.md', () => {
  it('has a line for every folder of services', () => {
    const files = execFileSync('git', ['ls-files', 'services'], { cwd: ROOT, encoding: 'utf8' })
    const folders = new Set(files.match(/^services\/[a-z]+(?=\/)/gm))
    const told = [...DEVELOPERS.matchAll(/^- `(services\/[a-z]+)\/`/gm)].map(([, name]) => name)
    expect(told.sort()).toEqual([...folders].sort())
  })

  it('names files and folders that exist', () => {
    const named = [...DEVELOPERS.matchAll(/`([\w.-]+(?:\/[\w.-]+)+\/?)`/g)].map(([, path]) => path!)
    expect(named.length).toBeGreaterThan(20)
    expect(named.filter((path) => !existsSync(join(ROOT, path)))).toEqual([])
  })

  it('sees the published schemas as it says they are made', async () => {
    expect(DEVELOPERS).toContain('npm run schema -- --check')
    const said = await run('npm run schema -- --check', { here: ROOT, address: '' })
    expect(said).toMatch(/^schema: \d+ files are as the declarations say/)
  })
})

describe('Commands in both', () => {
  it.each(Object.entries({ README, DEVELOPERS }))('%s: each is a script', (_, text) => {
    const named = [...text.matchAll(/npm (?:run )?([a-z:]+)/g)].map(([, name]) => name!)
    const known = new Set([...Object.keys(SCRIPTS), 'ci', 'run'])
    expect(named.filter((name) => !known.has(name))).toEqual([])
  })

  it('each script starts something that is there', () => {
    const starts = Object.entries(SCRIPTS).flatMap(([name, script]) =>
      [...script.matchAll(/\b(?:services|test|prisma)\/\S+/g)].map(([path]) => [name, path!]),
    )
    expect(starts.length).toBeGreaterThan(10)
    expect(starts.filter(([, path]) => !existsSync(join(ROOT, path!)))).toEqual([])
  })
})

function blocksOf(text: string): Block[] {
  return [...text.matchAll(/^```(\w+)(?: (\S+))?\n([\s\S]*?)\n```$/gm)].map((match) => ({
    language: match[1]!,
    name: match[2] ?? '',
    text: match[3]! + '\n',
    line: text.slice(0, match.index).split('\n').length,
  }))
}

/** Whatever can be done in seconds, with the answer that stands below it. */
function steps() {
  return blocks.flatMap((block, i) => {
    const { language, line, text } = block
    const does = ['graphql', 'ndjson'].includes(language) || commandsOf(text, language).length > 0
    const next = blocks[i + 1]
    const outcome = next && ['json', 'text'].includes(next.language) ? next : undefined
    const title = text.replaceAll(/\s+/g, ' ').slice(0, 60)
    return does ? [{ line, title, block, outcome }] : []
  })
}

/** Commands that install, that stay open, or that write into a file, are left to whoever reads. */
const LEFT = /^npm (ci|test|start)\b|npm run demo\b| > /

function commandsOf(text: string, language = 'sh'): string[] {
  if (language !== 'sh') return []
  const lines = text.replaceAll('\\\n', ' ').trim().split('\n')
  return lines.filter((line) => !LEFT.test(line))
}

/** Runs a command of the page in a folder, and gives what it says. */
function run(command: string, { here, address }: { here: string; address: string }) {
  const words = wordsOf(command)
  if (words[0] === 'curl') return fetched(words.slice(1), { here, address })
  const variables: Record<string, string> = {}
  while (/^\w+=/.test(words[0] ?? '')) {
    const [name, value] = words.shift()!.split('=')
    variables[name!] = value!
  }
  const [npm, verb, name, dashes, ...rest] = words
  const script = SCRIPTS[name ?? '']
  if (npm !== 'npm' || verb !== 'run' || !script || (dashes && dashes !== '--'))
    throw new Error(`${command}: nobody here knows how to run this`)
  const [program, ...fixed] = script.split(' ')
  expect(program).toBe('node')
  const paths = fixed.map((word) => (existsSync(join(ROOT, word)) ? join(ROOT, word) : word))
  return new Promise<string>((resolve) => {
    const options = { cwd: here, env: { ...process.env, ...variables } }
    execFile(process.execPath, [...paths, ...rest], options, (_, stdout, stderr) =>
      resolve(stdout + stderr),
    )
  })
}

async function fetched(
  words: string[],
  { here, address }: { here: string; address: string },
): Promise<string> {
  let url = ''
  let body: string | undefined
  const headers: Record<string, string> = {}
  while (words.length > 0) {
    const word = words.shift()!
    if (word === '-s') continue
    if (word === '-H') {
      const given = words.shift()!
      const line = given.startsWith('@') ? readFileSync(join(here, given.slice(1)), 'utf8') : given
      const [name, value] = line.trim().split(': ')
      headers[name!] = value!
    } else if (word === '-d' || word === '--data-binary') {
      const given = words.shift()!
      body = given.startsWith('@') ? readFileSync(join(here, given.slice(1)), 'utf8') : given
    } else if (word.startsWith(ADDRESS)) url = word.replace(ADDRESS, address)
    else throw new Error(`curl ${word}: nobody here knows how to do this`)
  }
  const response = await fetch(url, body === undefined ? {} : { method: 'POST', headers, body })
  return response.text()
}

/** Words of a command as a shell takes them apart. */
function wordsOf(command: string): string[] {
  return [...command.matchAll(/'([^']*)'|"([^"]*)"|([^\s'"]+)/g)].map(
    ([, single, double, bare]) => single ?? double ?? bare!,
  )
}

async function ask({ address, tokens }: House, query: string): Promise<unknown> {
  const response = await fetch(address + '/graphql', {
    method: 'POST',
    headers: {
      'content-type': 'application/json',
      authorization: `Bearer ${tokens.get('quality')}`,
    },
    body: JSON.stringify({ query }),
  })
  return response.json()
}

/** What is printed must be there; what is there may be more. Numbers are compared as far as printed. */
function sameAs(printed: string, real: unknown): void {
  const wanted: unknown = JSON.parse(printed)
  const inData = isRecord(real) && 'data' in real && isRecord(wanted) && !('data' in wanted)
  expect(asPrinted(inData ? real.data : real, wanted)).toEqual(wanted)
}

/** The real answer with the fields and the decimals of the printed one. */
function asPrinted(real: unknown, printed: unknown): unknown {
  if (typeof real === 'number' && typeof printed === 'number') return rounded(real, printed)
  if (Array.isArray(real) && Array.isArray(printed)) return listAsPrinted(real, printed)
  if (!isRecord(real) || !isRecord(printed)) return real
  return Object.fromEntries(
    Object.keys(printed).map((name) => [
      name,
      name === 'edges' && Array.isArray(real[name]) && Array.isArray(printed[name])
        ? real[name].map((edge, i) => asPrinted(edge, (printed[name] as unknown[])[i]))
        : asPrinted(real[name], printed[name]),
    ]),
  )
}

/** Only pages promise an order: any other list comes out in the order printed, as far as it is the same. */
function listAsPrinted(real: readonly unknown[], printed: readonly unknown[]): unknown[] {
  const left = [...real]
  const found = printed.flatMap((wanted) => {
    const at = left.findIndex((one) => isDeepStrictEqual(asPrinted(one, wanted), wanted))
    return at < 0 ? [] : [asPrinted(left.splice(at, 1)[0], wanted)]
  })
  return [...found, ...left]
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

/** A whole number printed stands for a whole number, apart from the noise of floating point. */
function rounded(real: number, printed: number): number {
  const decimals = String(printed).split('.')[1]?.length ?? 9
  return Number(real.toFixed(decimals))
}

/** Without what differs from run to run: seconds, what is made of moments, and progress. */
function steady(said: string): string {
  return said
    .replaceAll(/^\d+ of \d+ records read\.\n/gm, '')
    .replaceAll(/\d+\.\d s\b/g, 'N s')
    .replaceAll(/\b[0-9a-f]{12,}/g, 'HEX')
    .trim()
}
