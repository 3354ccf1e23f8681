// What a dropped file is, by its first bytes, and the size of a picture before it is decoded.

export interface Picture { kind: 'PNG' | 'JPEG' | 'WebP'; width: number; height: number }

/** The largest picture that is read, its largest file, and the longer side that it is reduced to. */
export const maxPixels = 40e6, maxPictureBytes = 30e6, workSide = 2600;

const be16 = (b: Uint8Array, i: number) => (b[i]! << 8) | b[i + 1]!;
const be32 = (b: Uint8Array, i: number) => be16(b, i) * 65536 + be16(b, i + 2);
const le24 = (b: Uint8Array, i: number) => b[i]! | (b[i + 1]! << 8) | (b[i + 2]! << 16);
const ascii = (b: Uint8Array, i: number, text: string) => [...text].every((c, k) => b[i + k] === c.charCodeAt(0));

function jpegSize(b: Uint8Array): Picture | null {
  for (let i = 2; i + 9 < b.length;) {
    if (b[i] !== 0xff) return null;
    const marker = b[i + 1]!;
    if (marker === 0xff) { i++; continue; }
    if (marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc) return { kind: 'JPEG', width: be16(b, i + 7), height: be16(b, i + 5) };
    i += marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8) ? 2 : 2 + be16(b, i + 2);
  }
  return null;
}

function webpSize(b: Uint8Array): Picture | null {
  if (b.length < 30) return null;
  if (ascii(b, 12, 'VP8X')) return { kind: 'WebP', width: 1 + le24(b, 24), height: 1 + le24(b, 27) };
  if (ascii(b, 12, 'VP8L')) return { kind: 'WebP', width: 1 + ((b[21]! | (b[22]! << 8)) & 0x3fff), height: 1 + (((b[22]! >> 6) | (b[23]! << 2) | (b[24]! << 10)) & 0x3fff) };
  if (ascii(b, 12, 'VP8 ')) return { kind: 'WebP', width: (b[26]! | (b[27]! << 8)) & 0x3fff, height: (b[28]! | (b[29]! << 8)) & 0x3fff };
  return null;
}

/** pictureOf reads the kind and the size of a picture off the beginning of its file; null where it is none that can be read. */
export function pictureOf(b: Uint8Array): Picture | null {
  if (b.length >= 24 && b[0] === 0x89 && ascii(b, 1, 'PNG\r\n\x1a\n') && ascii(b, 12, 'IHDR')) return { kind: 'PNG', width: be32(b, 16), height: be32(b, 20) };
  if (b.length > 4 && b[0] === 0xff && b[1] === 0xd8) return jpegSize(b);
  if (b.length > 16 && ascii(b, 0, 'RIFF') && ascii(b, 8, 'WEBP')) return webpSize(b);
  return null;
}

/** named is what other files are, where their first bytes tell. */
export function named(b: Uint8Array): string {
  const known: [string, number[]][] = [
    ['a program for Windows', [0x4d, 0x5a]], ['a program', [0x7f, 0x45, 0x4c, 0x46]], ['a PDF file', [0x25, 0x50, 0x44, 0x46]], ['a ZIP archive or an office document', [0x50, 0x4b, 3, 4]],
    ['a GIF picture', [0x47, 0x49, 0x46, 0x38]], ['a TIFF picture', [0x49, 0x49, 0x2a, 0]], ['a TIFF picture', [0x4d, 0x4d, 0, 0x2a]], ['a BMP picture', [0x42, 0x4d]], ['a compressed file', [0x1f, 0x8b]],
  ];
  return known.find(([, bytes]) => bytes.every((v, i) => b[i] === v))?.[0] ?? '';
}

export const megapixels = (n: number) => `${Number((n / 1e6).toPrecision(3))} megapixels`;
export const megabytes = (n: number) => (n >= 1e6 ? `${Number((n / 1e6).toPrecision(3))} MB` : `${Math.max(1, Math.round(n / 1e3))} kB`);

/** tooLarge says why a picture is not read; '' where it is. */
export function tooLarge(p: Picture, bytes: number): string {
  const n = p.width * p.height;
  if (p.width < 16 || p.height < 16) return `The picture has ${p.width} × ${p.height} pixels; at least 16 × 16 are required.`;
  if (n > maxPixels) return `The picture has ${p.width} × ${p.height} pixels, ${megapixels(n)}; at most ${megapixels(maxPixels)} are read. Crop it to the diagram, or save it at a lower resolution.`;
  if (bytes > maxPictureBytes) return `The picture has ${megabytes(bytes)}; at most ${megabytes(maxPictureBytes)} are read. Crop it to the diagram, or save it at a lower resolution.`;
  return '';
}


/** The largest other file. */
export const maxFileBytes = 8 * 1024 * 1024;

/** accepted names the files that are taken. */
export const accepted = 'Taken are: pictures of diagrams (PNG, JPEG, WebP), luminous intensity distributions (LM-63, .ies), spectra (columns as CSV, TM-27), board outlines (corners as CSV, DXF in text form).';

/** refusal says why a file that is no picture is not taken; '' where the program is to look at it. */
export function refusal(f: { name: string; size: number }, start: Uint8Array): string {
  const what = named(start), name = `${f.name || 'The file'} (${megabytes(f.size)})`;
  if (what !== '') return `${name} is ${what}. ${accepted} Nothing was changed.`;
  if (f.size === 0) return `${name} is empty. Nothing was changed.`;
  if (start.subarray(0, 4096).includes(0) && !(start[0] === 0xff && start[1] === 0xfe) && !(start[0] === 0xfe && start[1] === 0xff)) return `${name} is of no kind that is read here. ${accepted} Nothing was changed.`;
  if (f.size > maxFileBytes) return `${name} is larger than the ${megabytes(maxFileBytes)} that are read. Nothing was changed.`;
  return '';
}

/** notPicture says why a file is not taken where a picture is due. */
export const notPicture = (f: { name: string; size: number }, start: Uint8Array) => {
  const what = named(start);
  return `${f.name || 'The file'} (${megabytes(f.size)}) is ${what || 'no picture that is read here'}. A diagram is dropped as PNG, JPEG or WebP. Nothing was changed.`;
};

/** base64 writes bytes for a request. */
export function base64(bytes: Uint8Array): string {
  let text = '';
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return btoa(text);
}

/** head reads the beginning of a file, whatever its size. */
export const head = async (f: File, bytes = 1 << 18) => new Uint8Array(await f.slice(0, bytes).arrayBuffer());
