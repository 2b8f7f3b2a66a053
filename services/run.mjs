// Starts every script of package.json: finds a Node that can run TypeScript, makes the Prisma client
// when its schema or the lock file changed, then hands over. Plain JavaScript, because it must also
// run on a Node that cannot.
import { spawn, spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { delimiter, dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
// By path: the exports of these packages refuse require.resolve of their own programs.
const PROGRAMS = {
  vitest: 'vitest/vitest.mjs',
  prisma: 'prisma/build/index.js',
  tsc: 'typescript/bin/tsc',
  biome: '@biomejs/biome/bin/biome',
}

const [what, ...rest] = process.argv.slice(2)
if (!what)
  fail('Say what to start: a TypeScript file, or one of ' + Object.keys(PROGRAMS).join(', '))
if (!existsSync(join(root, 'node_modules'))) fail('Run "npm ci" first: node_modules is missing.')

const node = findNode()
makeClient(node)
const child = spawn(node, [PROGRAMS[what] ? program(PROGRAMS[what]) : what, ...rest], {
  stdio: 'inherit',
  env: {
    // What was compiled once is not compiled again by the next process.
    NODE_COMPILE_CACHE: join(root, 'node_modules', '.cache', 'compiled'),
    ...process.env,
    PATH: dirname(node) + delimiter + process.env.PATH,
  },
})
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal))
child.on('exit', (code, signal) => {
  process.exitCode = code ?? (signal ? 1 : 0)
})

/** TypeScript is run unbuilt, which wants Node 22.22 or newer; the lock brings one for the usual machines. */
function findNode() {
  const [major, minor] = process.versions.node.split('.').map(Number)
  if (major > 22 || (major === 22 && minor >= 22)) return process.execPath
  const os = process.platform === 'win32' ? 'win' : process.platform
  const name = `node-${os}-${process.arch}`
  const path = join(root, 'node_modules', name, 'bin', os === 'win' ? 'node.exe' : 'node')
  if (existsSync(path)) return path
  return fail(
    `This needs Node 22.22 or newer, and this is ${process.version}. For ${process.platform} ${process.arch} ` +
      'none comes with "npm ci": install Node 24 and run the command again.',
  )
}

/** Generates the client inside the run, not in an install script: those may be switched off. */
function makeClient(node) {
  const schema = join(root, 'prisma', 'schema.prisma')
  const prisma = program(PROGRAMS.prisma)
  if (!existsSync(prisma)) return // a production install copies the client in
  const made = createHash('sha256')
    .update(readFileSync(schema))
    .update(readFileSync(join(root, 'package-lock.json')))
    .digest('hex')
  const stamp = join(root, 'node_modules', '.cache', 'client-made-from')
  const client = join(root, 'prisma', 'client', 'client.ts')
  if (existsSync(client) && existsSync(stamp) && readFileSync(stamp, 'utf8') === made) return
  const done = spawnSync(node, [prisma, 'generate', '--no-hints'], {
    cwd: root,
    encoding: 'utf8',
    env: { ...process.env, CHECKPOINT_DISABLE: '1' },
  })
  if (done.status !== 0) fail('The Prisma client could not be made:\n' + done.stdout + done.stderr)
  mkdirSync(dirname(stamp), { recursive: true })
  writeFileSync(stamp, made)
}

function program(path) {
  return join(root, 'node_modules', path)
}

/** @returns {never} */
function fail(sentence) {
  console.error(sentence)
  process.exit(1)
}
