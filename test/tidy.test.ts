import { execFileSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { dirname, join, relative } from 'node:path'
import { describe, expect, it } from 'vitest'

// The rules of the house that a machine can check.

const ROOT = join(import.meta.dirname, '..')
const files = execFileSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
  cwd: ROOT,
  encoding: 'utf8',
})
  .split('\n')
  .filter((file) => file && existsSync(join(ROOT, file)))
const texts = new Map<string, string>()
const read = (file: string) => {
  const text = texts.get(file) ?? readFileSync(join(ROOT, file), 'utf8')
  texts.set(file, text)
  return text
}
const sources = files.filter((file) => /^(services|test|prisma)\/.*\.ts$/.test(file))

interface Import {
  from: string
  /** Path inside the repository, or the name of a package. */
  to: string
}

const imports: Import[] = sources.flatMap((file) =>
  [
    ...read(file).matchAll(
      /(?:^|\n)\s*(?:import|export)\b[^'"\n;]*?(?:\{[^}]*\}[^'"\n;]*?)?from\s*'([^']+)'|import\(\s*'([^']+)'\s*\)|(?:^|\n)import\s*'([^']+)'/g,
    ),
  ].map((match) => {
    const to = match[1] ?? match[2] ?? match[3]!
    return {
      from: file,
      to: to.startsWith('.') ? relative(ROOT, join(ROOT, dirname(file), to)) : to,
    }
  }),
)

/** Lower may not know higher; equals know each other only inside their own folder. */
const FLOOR: Record<string, number> = {
  events: 0,
  access: 1,
  metal: 1,
  stats: 1,
  watch: 1,
  log: 2,
  store: 2,
  stations: 3,
  genealogy: 3,
  query: 4,
  desk: 5,
  plant: 6,
  serve: 6,
}

/** They know each other by type alone: a handling takes from the flow, which holds handlings. */
const TIED =
  /^services\/metal\/castings\/(candidates|finding|floor|flow|handling|handling-ties|inference|packing|survey)\.ts$/

/** Files that are reached from themselves: what no order from the ground up holds. */
function circles(all: readonly Import[]): string[] {
  let left = all
  for (let before = Number.POSITIVE_INFINITY; left.length < before; ) {
    before = left.length
    const [importing, imported] = [
      new Set(left.map(({ from }) => from)),
      new Set(left.map(({ to }) => to)),
    ]
    left = left.filter(({ from, to }) => importing.has(to) && imported.has(from))
  }
  return [...new Set(left.map(({ from }) => from))].sort()
}

describe('The house', () => {
  it('has exactly the fixed top level', () => {
    const top = new Set(
      files.map((file) => file.split('/')[0]!).filter((name) => !name.startsWith('.')),
    )
    const allowed = new Set([
      'package.json',
      'package-lock.json',
      'README.md',
      'DEVELOPERS.md',
      'services',
      'schema',
      'prisma',
      'test',
      'docker-compose.yml',
      'Dockerfile',
      'tsconfig.json',
      'biome.json',
      'vitest.config.ts',
      'prisma.config.ts',
    ])
    expect([...top].filter((name) => !allowed.has(name))).toEqual([])
  })

  it('imports point down the floors only', () => {
    const offences = imports.filter(({ from, to }) => {
      const [a, b] = [roomOf(from), roomOf(to)]
      return a !== undefined && b !== undefined && a !== b && FLOOR[a]! <= FLOOR[b]!
    })
    expect(offences).toEqual([])
  })

  it('has no circles of files, but for the flow of castings and those who are tied in it', () => {
    const circular = circles(imports.filter(({ from }) => from.startsWith('services/')))
    expect(circular.length).toBeGreaterThan(0)
    expect(circular.filter((file) => !TIED.test(file))).toEqual([])
  })

  it('gives each outside system one home', () => {
    const homes: [RegExp, RegExp][] = [
      [/^kafkajs/, /^services\/log\/kafka/],
      [/^jose$/, /^services\/access\//],
      [/^@apollo\//, /^services\/query\//],
      [/^prisma\/client\//, /^services\/store\/prisma-client\.ts$/],
      [/^@prisma\/adapter-pg$/, /^(services\/store\/prisma-client|prisma\/plan)\.ts$/],
      [/^pg$/, /^services\/store\/connect\.ts$/],
      [/^@electric-sql\//, /^services\/store\/connect\.ts$/],
      [/^hyparquet/, /^services\/query\/files\//],
      [/^@stdlib\//, /^services\/stats\/distributions\.ts$/],
    ]
    const offences = imports.filter(
      ({ from, to }) =>
        from.startsWith('services/') &&
        homes.some(([what, home]) => what.test(to) && !home.test(from)),
    )
    expect(offences).toEqual([])
  })

  it('keeps events, metal and stats pure', () => {
    const impure = /\b(Date\.now|new Date\(\)|Math\.random|process\.|fetch\(|performance\.now)/
    const io = /^node:(fs|net|http|child_process|worker_threads|os|timers)/
    const pure = sources.filter(
      (file) =>
        /^services\/(events|metal|stats)\//.test(file) && file !== 'services/events/publish.ts',
    )
    expect(pure.filter((file) => impure.test(read(file)))).toEqual([])
    expect(imports.filter(({ from, to }) => pure.includes(from) && io.test(to))).toEqual([])
  })

  it('keeps the truth of the invented foundry apart from the arithmetic it judges', () => {
    const judges = /^services\/plant\/(score\/|demo\.ts|work\.ts)/
    const truth = (file: string) => file.startsWith('services/plant/') && !judges.test(file)
    const rooms = imports.filter(({ from }) => truth(from)).map(({ to }) => roomOf(to))
    expect(
      [...new Set(rooms)].filter((room) => room && room !== 'plant' && room !== 'events'),
    ).toEqual([])
  })

  it('has no file that nothing reaches', () => {
    const scripts = Object.values(
      (JSON.parse(read('package.json')) as { scripts: Record<string, string> }).scripts,
    ).join(' ')
    const named = sources.filter((file) => scripts.includes(file))
    const naming = new Map<string, Set<string>>()
    for (const file of [...sources, 'services/desk/index.html'])
      for (const [name] of read(file).matchAll(/[\w.-]+\.ts\b/g))
        naming.set(name, (naming.get(name) ?? new Set()).add(file))
    const spawned = sources.filter((file) =>
      [...(naming.get(file.split('/').at(-1)!) ?? [])].some((other) => other !== file),
    )
    const reached = new Set([...imports.map(({ to }) => to), ...named, ...spawned])
    const loose = sources.filter(
      (file) => /^services\/.*(?<!\.d)\.ts$/.test(file) && !reached.has(file),
    )
    expect(loose).toEqual([])
  })

  it('hands no text to the database but by its parameters', () => {
    const raw = /\$(queryRaw|executeRaw)Unsafe|Prisma\.raw\b/
    expect(
      sources.filter((file) => raw.test(read(file)) && !file.endsWith('tidy.test.ts')),
    ).toEqual([])
  })

  it('reads the environment in one place', () => {
    const readers = sources.filter(
      (file) => file.startsWith('services/') && /process\.env/.test(read(file)),
    )
    expect(readers.filter((file) => file !== 'services/settings.ts')).toEqual([])
  })

  it('names only paths and commands that exist in its documents', () => {
    const scripts = (JSON.parse(read('package.json')) as { scripts: Record<string, string> })
      .scripts
    const missing: string[] = []
    for (const page of ['README.md', 'DEVELOPERS.md']) {
      const text = read(page)
      for (const [, path] of text.matchAll(/`((?:services|schema|prisma|test|\.ci)\/[\w./-]*)`/g)) {
        if (!existsSync(join(ROOT, path!))) missing.push(`${page}: ${path}`)
      }
      for (const [, script] of text.matchAll(/npm run ([\w:]+)/g)) {
        if (!scripts[script!]) missing.push(`${page}: npm run ${script}`)
      }
    }
    expect(missing).toEqual([])
  })

  it('mirrors services in test', () => {
    const lone = files.filter((file) => {
      const match = /^test\/([a-z]+)\//.exec(file)
      return (
        match &&
        !['bench', 'contract', 'golden', 'simulated'].includes(match[1]!) &&
        !existsSync(join(ROOT, 'services', match[1]!))
      )
    })
    expect(lone).toEqual([])
  })
})

function roomOf(path: string): string | undefined {
  const room = /^services\/([a-z]+)\//.exec(path)?.[1]
  return room !== undefined && room in FLOOR ? room : undefined
}
