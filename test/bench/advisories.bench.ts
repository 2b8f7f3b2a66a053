// Known vulnerabilities of what ships, as the registry tells them. Each that stands has to be argued here.
import { execFile } from 'node:child_process'
import { join } from 'node:path'
import type { Finding } from './finding.ts'

/** Why an advisory does not concern this house, by the name of its package. */
const ARGUED: Readonly<Record<string, string>> = {}

interface Told {
  vulnerabilities?: Record<string, { severity: string }>
}

export async function tellAdvisories(): Promise<Finding[]> {
  const what = 'known vulnerabilities of packages that ship, not argued'
  const { vulnerabilities } = await audited()
  // A registry that does not answer leaves it unknown: told for information, and no limit is held.
  if (!vulnerabilities)
    return [{ what, measured: 'not told: this registry offers no audit', limit: '', pass: true }]
  const open = Object.entries(vulnerabilities).filter(([name]) => !(name in ARGUED))
  const named = open.map(([name, { severity }]) => `${name} (${severity})`).join(', ')
  return [{ what, measured: named || 'none', limit: 'none wanted', pass: open.length === 0 }]
}

/** npm answers with an exit code of its own when there are any. */
function audited(): Promise<Told> {
  const cwd = join(import.meta.dirname, '../..')
  return new Promise((resolve) => {
    execFile('npm', ['audit', '--omit=dev', '--json'], { cwd, timeout: 60_000 }, (_, stdout) => {
      try {
        resolve(JSON.parse(stdout) as Told)
      } catch {
        resolve({})
      }
    })
  })
}
