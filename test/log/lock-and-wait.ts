// A process that takes a folder, says so, and holds it until it is ended: the other half of the lock
// test. Argument: folder.
import { writeSync } from 'node:fs'
import { FolderHeldError, lockFolder } from '../../services/log/segment/folder-lock.ts'

const folder = process.argv[2]
try {
  const lock = await lockFolder(folder!)
  writeSync(1, `held ${process.pid}\n`)
  process.stdin.resume().on('end', async () => {
    await lock.release()
    process.exitCode = 0
  })
} catch (error) {
  if (!(error instanceof FolderHeldError)) throw error
  writeSync(1, `refused ${error.holder.pid}\n`)
}
