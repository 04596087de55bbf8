/**
 * Picture or video: by what the system says of a file, by its name, else by its first bytes.
 */

const PICTURE = /\.(jpe?g|png|heic|heif|webp)$/i;
const VIDEO = /\.(mp4|mov|m4v|webm|mkv|avi|3gp|mts|m2ts|mpe?g)$/i;
/** Brands of pictures in the container that phones use for videos too. */
const PICTURE_BRANDS = ["heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "avif"];

/** @typedef {"picture" | "video"} Kind */

/** @param {File} file @returns {Kind | null} as far as its type and its name tell */
export function likelyKind(file) {
  if (file.type.startsWith("image/")) return "picture";
  if (file.type.startsWith("video/")) return "video";
  if (PICTURE.test(file.name)) return "picture";
  return VIDEO.test(file.name) ? "video" : null;
}

/** @param {File} file @returns {Promise<Kind>} a picture where nothing tells: the server then says what it is not */
export async function kindOf(file) {
  const likely = likelyKind(file);
  if (likely !== null) return likely;
  const head = new Uint8Array(await file.slice(0, 12).arrayBuffer().catch(() => new ArrayBuffer(0)));
  const text = String.fromCharCode(...head);
  if (text.slice(4, 8) === "ftyp") return PICTURE_BRANDS.includes(text.slice(8, 12)) ? "picture" : "video";
  if (text.startsWith("\x1a\x45\xdf\xa3")) return "video";
  return text.startsWith("RIFF") && text.slice(8, 12) === "AVI " ? "video" : "picture";
}
