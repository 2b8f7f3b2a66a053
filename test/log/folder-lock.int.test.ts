import type { ChildProcess } from 'node:child_process'
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtemp, readdir, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { FolderHeldError, holderOf, lockFolder } from '../../services/log/segment/folder-lock.ts'

let folder: string
const started: ChildProcess[] = []
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'locked-'))
})
afterEach(async () => {
  for (const child of started.splice(0)) await killed(child)
  await rm(folder, { recursive: true })
})

test('the second to open a folder is refused in one sentence that names the holder', async () => {
  const lock = await lockFolder(folder)
  await expect(lockFolder(folder)).rejects.toThrow(
    `The folder ${folder} is in use by process ${process.pid}. Stop that one first, or name another folder.`,
  )
  await lock.release()
  await (await lockFolder(folder)).release()
})

test('a second process is refused, and told where the house answers', async () => {
  const lock = await lockFolder(folder)
  lock.announce('http://127.0.0.1:4000')
  expect((await contender()).line).toBe(`refused ${process.pid}`)
  expect(await holderOf(folder)).toEqual({ pid: process.pid, address: 'http://127.0.0.1:4000' })
  await lock.release()
  expect(await holderOf(folder)).toBeUndefined()
})

test('after kill -9 of the holder the folder is taken over', async () => {
  const { child } = await contender()
  await killed(child)
  expect(await readdir(folder)).toContain('lock')
  expect(await holderOf(folder)).toBeUndefined()
  const lock = await lockFolder(folder)
  expect(await holderOf(folder)).toEqual({ pid: process.pid })
  await lock.release()
  expect(await readdir(folder)).toEqual([])
})

test('of many that rush to take over from a killed holder, exactly one gets the folder', async () => {
  for (let round = 0; round < 4; round++) {
    await killed((await contender()).child)
    const rush = await Promise.allSettled(
      Array.from({ length: 40 }, async (_, i) => {
        // Not all in step: one may be removing what another has just made.
        for (let turn = 0; turn < i; turn++) await new Promise(setImmediate)
        return lockFolder(folder)
      }),
    )
    const held = rush.filter((each) => each.status === 'fulfilled')
    expect(held).toHaveLength(1)
    for (const refused of rush.filter((each) => each.status === 'rejected'))
      expect(refused.reason).toBeInstanceOf(FolderHeldError)
    await held[0]!.value.release()
  }
})

test('a holder that stands still is still the holder', async () => {
  const { child } = await contender()
  child.kill('SIGSTOP')
  await expect(lockFolder(folder)).rejects.toThrow('is in use by another process')
  child.kill('SIGCONT')
})

test('a folder that does not exist is held by nobody', async () => {
  expect(await holderOf(join(folder, 'none'))).toBeUndefined()
})

test('a folder with a very long path is locked all the same', async () => {
  const deep = join(folder, 'a'.repeat(120))
  const lock = await lockFolder(deep)
  await expect(lockFolder(deep)).rejects.toThrow(`process ${process.pid}`)
  await lock.release()
})

async function contender(): Promise<{ child: ChildProcess; line: string }> {
  const script = join(import.meta.dirname, 'lock-and-wait.ts')
  const child = spawn(process.execPath, [script, folder], { stdio: ['pipe', 'pipe', 'inherit'] })
  started.push(child)
  const [line] = await once(createInterface(child.stdout!), 'line')
  return { child, line }
}

async function killed(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return
  child.kill('SIGKILL')
  await once(child, 'exit')
}
