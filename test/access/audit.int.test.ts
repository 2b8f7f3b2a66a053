import { readdir, readFile, stat, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { type AuditLine, chainOf, type Deed, openAudit } from '../../services/access/audit.ts'
import { runAudit } from '../../services/access/audit-command.ts'
import { newFolder } from '../stations/folders.ts'

const deed = (subject: string, more: Partial<Deed> = {}): Deed => ({
  ...{ subject, roles: new Set(['quality']), what: 'question', hash: 'ab', rows: 3 },
  ...{ decision: 'answered', seconds: 0.01, ...more },
})

/** An audit of two days in a folder, and what it told the journal. */
async function written() {
  const folder = await newFolder()
  const told: string[] = []
  let nowMs = Date.parse('2026-03-02T23:59:00Z')
  const audit = await openAudit({
    ...{ folder, service: 'house', now: () => nowMs, tell: (line) => told.push(line) },
    failed: (error) => expect.unreachable(String(error)),
  })
  for (const name of ['kim', 'lee', 'kim']) audit.note(deed(name))
  nowMs += 120_000
  audit.note(deed('lee', { what: 'x'.repeat(999), decision: 'line\nbreak' }))
  await audit.close()
  const names = (await readdir(folder)).sort()
  return { folder, told, names, file: join(folder, names[0]!) }
}

test('says who did what, line by line, in a file of the day that its owner reads', async () => {
  const { folder, names, file, told } = await written()
  expect(names.map((name) => name.slice(0, 16))).toEqual(['2026-03-02.house', '2026-03-03.house'])
  expect((await stat(file)).mode & 0o777).toBe(0o600)
  const lines = (await readFile(file, 'utf8')).trimEnd().split('\n')
  const said = lines.map((line) => JSON.parse(line) as AuditLine)
  expect(said.map(({ n, subject }) => [n, subject])).toEqual([
    [1, 'kim'],
    [2, 'lee'],
    [3, 'kim'],
  ])
  expect(said[0]).toMatchObject({ roles: ['quality'], hash: 'ab', rows: 3, decision: 'answered' })
  const next = (await readFile(join(folder, names[1]!), 'utf8')).trimEnd()
  expect(next.split('\n')).toHaveLength(1)
  expect(JSON.parse(next).what).toHaveLength(200)
  const says: string[] = []
  expect(await runAudit(folder, (line) => says.push(line))).toBe(0)
  const last = /hash is (\w{64})/.exec(says[0]!)![1]
  expect(told[0]).toBe(`${names[0]} ends with line 3, hash ${last}.`)
})

test.each<[string, (lines: string[]) => string[], number]>([
  ['changed', ([a, b, c]) => [a!, b!.replace('lee', 'kim'), c!], 3],
  ['dropped', ([a, , c]) => [a!, c!], 2],
  ['dropped at the start', ([, b, c]) => [b!, c!], 1],
  ['moved', ([a, b, c]) => [b!, a!, c!], 1],
  ['doubled', ([a, b, c]) => [a!, a!, b!, c!], 2],
  ['put in', ([a, b, c]) => [a!, b!, '{"n":3}', c!], 3],
  ['no JSON', ([a, , c]) => [a!, 'b', c!], 2],
])('a line that was %s does not hold', async (_, change, line) => {
  const { folder, file, names } = await written()
  const lines = (await readFile(file, 'utf8')).trimEnd().split('\n')
  await writeFile(file, `${change(lines).join('\n')}\n`)
  const says: string[] = []
  expect(await runAudit(folder, (said) => says.push(said))).toBe(1)
  expect(says[0]).toContain(`${names[0]}: line ${line} does not hold`)
})

test('a file under another name, or broken off, does not hold; one cut short has another hash', async () => {
  const { file, names } = await written()
  const text = await readFile(file, 'utf8')
  expect(chainOf('other.ndjson', text).broken?.line).toBe(1)
  expect(chainOf(names[0]!, text.slice(0, -20)).broken?.why).toBe('it was not finished')
  const cut = chainOf(names[0]!, `${text.split('\n')[0]}\n`)
  expect(cut.broken).toBeUndefined()
  expect(cut.hash).not.toBe(chainOf(names[0]!, text).hash)
})
