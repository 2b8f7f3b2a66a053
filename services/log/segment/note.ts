// Small facts kept beside the log, each a JSON file that is there whole or not at all.
import { open, readFile, rename } from 'node:fs/promises'
import { join } from 'node:path'
import { syncFolder } from './partition.ts'

/** Undefined when it was never written. */
export async function readNote<T>(folder: string, name: string): Promise<T | undefined> {
  try {
    return JSON.parse(await readFile(join(folder, name), 'utf8'))
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined
    throw error
  }
}

export async function writeNote(folder: string, name: string, note: object): Promise<void> {
  const path = join(folder, name)
  // Under another name first: a crash must not leave half of it.
  await using file = await open(path + '.new', 'w')
  await file.writeFile(JSON.stringify(note) + '\n')
  await file.sync()
  await rename(path + '.new', path)
  await syncFolder(folder)
}
