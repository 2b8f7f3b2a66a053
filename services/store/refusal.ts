/**
 * The database refuses what it was given, and would again: a value it cannot hold (SQLSTATE class 22)
 * or one past its limits (54). Everything else is the world being broken: try again later.
 */
export function isRefusal(error: unknown): error is Error {
  return (
    error instanceof Error &&
    'code' in error &&
    typeof error.code === 'string' &&
    /^(22|54).{3}$/.test(error.code)
  )
}
