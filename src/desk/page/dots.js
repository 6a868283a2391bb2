// Bare dots on a canvas: rows of whole bytes in base64, the leftmost dot first, black set.

export function put(canvas, { width, height, rows }) {
  Object.assign(canvas, { width, height });
  const bytes = Uint8Array.from(atob(rows), (letter) => letter.charCodeAt(0));
  const [context, stride] = [canvas.getContext("2d", { willReadFrequently: true }), Math.ceil(width / 8)];
  const image = context.createImageData(width, height);
  for (let at = 0; at < width * height; at += 1) {
    const [x, y] = [at % width, Math.floor(at / width)];
    image.data.fill(bytes[y * stride + (x >> 3)] & (128 >> (x & 7)) ? 0 : 255, at * 4, at * 4 + 3);
    image.data[at * 4 + 3] = 255;
  }
  context.putImageData(image, 0, 0);
}
