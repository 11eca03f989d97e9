package paper

import (
	"bytes"
	"encoding/binary"
	"errors"
)

// The facts of files, read from their first bytes and, for pictures that move,
// from the frame of the rest. What a decoder sets aside is reckoned from the
// sources of the decoders in use; a test measures it.

var errCut = errors.New("the file ends within a part that it announces")

// pngFacts reads the chunks before the picture (PNG, W3C Recommendation, 2025,
// 5.3 and 11). A picture of several frames says so in acTL.
func pngFacts(file []byte) (facts, error) {
	const header = 8 + 8 + 13
	if len(file) < header || string(file[12:16]) != "IHDR" {
		return facts{}, errCut
	}
	be := binary.BigEndian
	f := facts{width: int(be.Uint32(file[16:])), height: int(be.Uint32(file[20:]))}
	depth, colours, interlaced := file[24], file[25], file[28] != 0
	clear := false
	for at := 8; at+8 <= len(file); {
		size, name := int(be.Uint32(file[at:])), string(file[at+4:at+8])
		switch {
		case name == "acTL" && size >= 4 && at+12 <= len(file):
			f.moving = be.Uint32(file[at+8:]) > 1
		case name == "tRNS":
			clear = true
		}
		if name == "IDAT" || size > len(file) {
			break
		}
		at += 8 + size + 4
	}
	const grey, palette = 0, 3
	each := int64(4)
	switch {
	case colours == palette, colours == grey && !clear:
		each = 1
	}
	if depth == 16 {
		each *= 2
	}
	if interlaced {
		each *= 2 // each of seven passes is a picture of its own beside the whole
	}
	f.memory = each * int64(f.width) * int64(f.height)
	return f, nil
}

// gifFacts goes through the blocks (GIF89a, CompuServe, 1990) as far as the second
// picture. A file that ends without its last block is read as far as it goes, as
// everybody does.
func gifFacts(file []byte) (facts, error) {
	const header = 6 + 7
	if len(file) < header {
		return facts{}, errCut
	}
	le := binary.LittleEndian
	f := facts{width: int(le.Uint16(file[6:])), height: int(le.Uint16(file[8:]))}
	f.memory = 2 * int64(f.width) * int64(f.height) // an interlaced one is put in order beside
	at := header + paletteBytes(file[10])
	for pictures := 0; at < len(file); {
		switch file[at] {
		case 0x21: // an extension: its label, then blocks
			at = afterBlocks(file, at+2)
		case 0x2c: // a picture: place and size, its palette, one byte, then blocks
			if pictures++; pictures > 1 {
				f.moving = true
				return f, nil
			}
			if at+10 > len(file) {
				return facts{}, errCut
			}
			at = afterBlocks(file, at+10+paletteBytes(file[at+9])+1)
		default:
			return f, nil
		}
	}
	return f, nil
}

// paletteBytes is the size of the palette that the flags of a GIF announce.
func paletteBytes(flags byte) int {
	if flags&0x80 == 0 {
		return 0
	}
	return 3 << (flags&7 + 1)
}

// afterBlocks is where a run of blocks, each with its length before it, ends with an empty one.
func afterBlocks(file []byte, at int) int {
	for at < len(file) && file[at] != 0 {
		at += 1 + int(file[at])
	}
	return at + 1
}

// webpFacts reads the first chunk (WebP Container Specification, RFC 9649, 2.5 to 2.7).
func webpFacts(file []byte) (facts, error) {
	const header = 12 + 8 + 10
	if len(file) < header {
		return facts{}, errCut
	}
	le, data := binary.LittleEndian, file[20:]
	var f facts
	each := int64(2)
	switch string(file[12:16]) {
	case "VP8 ": // key frame: 3 bytes, a start code, then 14 bits each
		f.width, f.height = int(le.Uint16(data[6:])&0x3fff), int(le.Uint16(data[8:])&0x3fff)
	case "VP8L": // a signature, then 14 bits each, less one
		bits := le.Uint32(data[1:])
		f.width, f.height = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
		each = 8 // of colours, and once more where a palette is undone
	case "VP8X":
		const moves, clear = 1 << 1, 1 << 4
		f.moving = data[0]&moves != 0
		f.width, f.height = 1+int(le.Uint32(data[4:])&0xffffff), 1+int(le.Uint32(data[6:])>>8)
		each = 8
		if data[0]&clear != 0 {
			each = 10 // and how clear each is, packed as a picture without losses
		}
	default:
		return facts{}, errCut
	}
	f.memory = each * int64(f.width+15) * int64(f.height+15)
	return f, nil
}

// mostScans is how many passes of a progressive JPEG are decoded: our own bound, for
// each may cost the whole picture's time for a handful of bytes.
const mostScans = 50

var errManyScans = errors.New("a JPEG of very many scans")

// jpegFacts goes through the segments (ITU-T T.81, B.1 and B.2) up to the end of the
// picture: a phone may put a film behind it. What is cut off after the first scan is
// for the decoder to find.
func jpegFacts(file []byte) (facts, error) {
	var f facts
	var frame []byte
	progressive, jfif, rgb, scans := false, false, false, 0
	for at := 2; ; {
		marker, data, after := jpegSegment(file, at)
		at = after
		switch {
		case marker == endOfImage && scans == 0, marker == startOfScan && frame == nil:
			return facts{}, errCut
		case marker == endOfImage:
			be := binary.BigEndian
			f.height, f.width = int(be.Uint16(frame[1:])), int(be.Uint16(frame[3:]))
			f.memory = jpegMemory(frame, f, progressive, rgb && !jfif)
			return f, nil
		case marker == startOfScan:
			if scans++; scans > mostScans {
				return facts{}, errManyScans
			}
		case marker >= 0xc0 && marker <= 0xc2 && len(data) >= 6 && frame == nil:
			frame, progressive = data, marker == 0xc2
		case marker == 0xe0 && bytes.HasPrefix(data, []byte("JFIF\x00")):
			jfif = true
		case marker == 0xe1 && f.turn == 0:
			f.turn = exifTurn(data)
		case marker == 0xee && len(data) >= 12 && bytes.HasPrefix(data, []byte("Adobe")):
			rgb = data[11] == 0
		}
	}
}

const startOfScan, endOfImage = 0xda, 0xd9

// jpegSegment is the next segment from a place on: its marker, what it holds, and
// where it ends. The end of the file, which may be within a segment, is that of the
// image. The data of a scan, between segments, are passed over.
func jpegSegment(file []byte, at int) (marker byte, data []byte, after int) {
	for at++; at < len(file); at++ { // a marker is the second byte of two
		if file[at-1] != 0xff || file[at] == 0xff || file[at] <= 1 || file[at] >= 0xd0 && file[at] <= 0xd8 {
			continue // no marker, or one that stands alone
		}
		if file[at] == endOfImage || at+3 > len(file) {
			break
		}
		end := at + 1 + int(binary.BigEndian.Uint16(file[at+1:]))
		if end < at+3 || end > len(file) {
			break
		}
		return file[at], file[at+3 : end], end
	}
	return endOfImage, nil, len(file)
}

// jpegMemory reckons with whole units of the largest component's blocks: a byte for
// each sample; four more where the passes of a progressive file are gathered; four
// for each pixel where the colours are not those that JPEG usually has.
func jpegMemory(frame []byte, f facts, progressive, rgb bool) int64 {
	n := int(frame[5])
	if n == 0 || len(frame) < 6+3*n {
		return 0 // the decoder refuses it
	}
	wide, high, samples := int64(frame[7]>>4), int64(frame[7]&15), int64(0)
	letters := ""
	for i := range n {
		c := frame[6+3*i:]
		samples += int64(c[1]>>4) * int64(c[1]&15)
		letters += string(rune(c[0]))
	}
	if wide == 0 || high == 0 {
		return 0 // the same
	}
	if n == 1 {
		wide, high, samples = 1, 1, 1 // the only component is read as one block to a unit
	}
	units := ((int64(f.width) + 8*wide - 1) / (8 * wide)) * ((int64(f.height) + 8*high - 1) / (8 * high))
	memory := units * 64 * samples
	if progressive {
		memory *= 5
	}
	if n == 4 || rgb || letters == "RGB" {
		memory += 4 * int64(f.width) * int64(f.height)
	}
	return memory
}

// exifTurn reads the orientation out of Exif data, 1 to 8, or 0 where there is none
// (CIPA DC-008, Exif 2.32, 4.5.4 and 4.6.4: tag 0112 of the first directory of a
// TIFF structure; TIFF 6.0, section 2).
func exifTurn(data []byte) int {
	tiff, ok := bytes.CutPrefix(data, []byte("Exif\x00\x00"))
	if !ok || len(tiff) < 8 {
		return 0
	}
	var order binary.ByteOrder = binary.BigEndian
	if string(tiff[:2]) == "II" {
		order = binary.LittleEndian
	}
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 0
	}
	entries := int(order.Uint16(tiff[at:]))
	for entry := tiff[at+2:]; entries > 0 && len(entry) >= 12; entries, entry = entries-1, entry[12:] {
		const orientation, short = 0x0112, 3
		if order.Uint16(entry) == orientation && order.Uint16(entry[2:]) == short {
			if turn := int(order.Uint16(entry[8:])); turn >= 1 && turn <= 8 {
				return turn
			}
			return 0
		}
	}
	return 0
}
