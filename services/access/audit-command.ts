// npm run audit                 holds every file of the audit against itself
// npm run audit -- FOLDER       the same elsewhere
import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { settings } from '../settings.ts'
import { chainOf } from './audit.ts'

/** Says of each file how it stands; answers the exit code, 1 when one does not hold. */
export async function runAudit(folder: string, say: (line: string) => void): Promise<number> {
  const names = (await readdir(folder)).filter((name) => name.endsWith('.ndjson')).sort()
  let code = 0
  for (const name of names) {
    const { lines, hash, broken } = chainOf(name, await readFile(join(folder, name), 'utf8'))
    if (broken) code = 1
    say(
      broken
        ? `${name}: line ${broken.line} does not hold: ${broken.why}. ${lines} before it hold.`
        : `${name}: ${lines} lines hold, the last hash is ${hash}.`,
    )
  }
  say(
    `${names.length} files. Compare each last hash with what the journal said when the file ended.`,
  )
  return code
}

if (import.meta.main) {
  try {
    const [folder = join(settings.folder, 'audit')] = process.argv.slice(2)
    process.exitCode = await runAudit(folder, (line) => console.log(line))
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 2
  }
}
