// A PostgreSQL of our own, which may be stopped at once and frozen: the one on this machine belongs to
// others too. From whatever initdb this machine has; where there is none the suites say why.
import { type ChildProcess, execFile, execFileSync, spawn } from 'node:child_process'
import { chown, mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { promisify } from 'node:util'
import { connect } from '../../services/store/connect.ts'
import { freePorts } from '../log/broker-cluster.ts'

const run = promisify(execFile)
const START_MS = 30_000

/** Who runs it: it refuses to be run by root. */
interface User {
  uid: number
  gid: number
}

/** The maker of servers; or why there is none. */
export const ownPostgres: string | (() => Promise<OwnPostgres>) = (() => {
  try {
    const bin = execFileSync('pg_config', ['--bindir'], { encoding: 'utf8' }).trim()
    const id = (what: string) =>
      Number(
        execFileSync('id', [
          what,
          process.getuid?.() === 0 ? 'postgres' : String(process.getuid?.()),
        ]),
      )
    const user = { uid: id('-u'), gid: id('-g') }
    return () => OwnPostgres.make(bin, user)
  } catch (error) {
    return `There is no PostgreSQL to start here: ${(error as Error).message.split('\n')[0]}.`
  }
})()

export class OwnPostgres {
  readonly url: string
  readonly #bin: string
  readonly #user: User
  readonly #folder: string
  readonly #port: number
  #process: ChildProcess | undefined

  private constructor(bin: string, user: User, folder: string, port: number) {
    this.url = `postgres://postgres@127.0.0.1:${port}/postgres`
    this.#bin = bin
    this.#user = user
    this.#folder = folder
    this.#port = port
  }

  static async make(bin: string, user: User): Promise<OwnPostgres> {
    const folder = await mkdtemp(join(tmpdir(), 'own-postgres-'))
    await chown(folder, user.uid, user.gid)
    const [port] = await freePorts(1)
    const made = new OwnPostgres(bin, user, folder, port!)
    const options = [
      '-D',
      join(folder, 'data'),
      '-U',
      'postgres',
      '-A',
      'trust',
      '-N',
      '-E',
      'UTF8',
    ]
    await run(join(bin, 'initdb'), [...options, '--locale=C'], { ...user, cwd: folder })
    await made.start()
    return made
  }

  /** Resolves when it answers. */
  async start(): Promise<void> {
    const settings = [
      ...['listen_addresses=127.0.0.1', `unix_socket_directories=${this.#folder}`],
      // A kill of the server loses nothing that the system has.
      ...['fsync=off', 'shared_buffers=32MB'],
    ].flatMap((each) => ['-c', each])
    const args = ['-D', join(this.#folder, 'data'), '-p', String(this.#port), ...settings]
    this.#process = spawn(join(this.#bin, 'postgres'), args, {
      ...this.#user,
      cwd: this.#folder,
      stdio: 'ignore',
    })
    for (const until = Date.now() + START_MS; ; await pause(50)) {
      const store = await connect({ url: this.url })
      const answers = await store.pool.query('select 1').catch(() => undefined)
      await store.close()
      if (answers) return
      if (Date.now() > until) throw new Error('PostgreSQL does not start.')
    }
  }

  /** As a power switch would: what is not committed is gone. */
  async stopAtOnce(): Promise<void> {
    const child = this.#process
    this.#process = undefined
    if (!child || child.exitCode !== null) return
    const gone = new Promise((done) => child.once('exit', done))
    child.kill('SIGQUIT')
    await gone
  }

  /** Nothing of it does anything until it is thawed. */
  async freeze(): Promise<void> {
    for (const pid of await this.#pids()) process.kill(pid, 'SIGSTOP')
  }

  async thaw(): Promise<void> {
    for (const pid of await this.#pids()) process.kill(pid, 'SIGCONT')
  }

  async drop(): Promise<void> {
    await this.thaw()
    await this.stopAtOnce()
    await rm(this.#folder, { recursive: true, force: true })
  }

  /** The server and all that it has started. */
  async #pids(): Promise<number[]> {
    const pid = this.#process?.pid
    if (pid === undefined) return []
    const children = await run('ps', ['-o', 'pid=', '--ppid', String(pid)]).catch(() => ({
      stdout: '',
    }))
    return [pid, ...children.stdout.trim().split(/\s+/).filter(Boolean).map(Number)]
  }
}
