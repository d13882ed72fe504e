/** Certificate and key from their files, told apart before the server starts with them. */
import { createPrivateKey, X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { refuse, RefusalError } from '@ebbline/core/quantity';

const refused = (setting: string, found: string): RefusalError =>
  new RefusalError(
    refuse('server/tls', {
      asked: setting,
      found,
      allowed: 'a certificate chain and the private key of its first certificate, as PEM files',
      todo: 'Correct the file or its rights, and start again.',
    }),
  );

function textOf(setting: string, path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (problem) {
    throw refused(
      setting,
      `a file that can't be read (${(problem as NodeJS.ErrnoException).code ?? 'unknown'})`,
    );
  }
}

function read<Value>(setting: string, make: () => Value): Value {
  try {
    return make();
  } catch {
    throw refused(setting, 'a file that is not what it should be');
  }
}

export function readTls(paths: { readonly certPath: string; readonly keyPath: string }): {
  readonly cert: string;
  readonly key: string;
} {
  const cert = textOf('EBBLINE_TLS_CERT', paths.certPath);
  const key = textOf('EBBLINE_TLS_KEY', paths.keyPath);
  const first = read('EBBLINE_TLS_CERT', () => new X509Certificate(cert));
  const half = read('EBBLINE_TLS_KEY', () => createPrivateKey(key));
  if (!first.checkPrivateKey(half)) throw refused('EBBLINE_TLS_KEY', 'the key of another certificate');
  return { cert, key };
}
