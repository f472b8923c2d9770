//! Changes boxes deep inside an MP4 (ISO/IEC 14496-12) and mends the sizes around them.

/// A box of a kind around a body.
pub fn boxed(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
    let size = u32::try_from(body.len() + 8).unwrap();
    [&size.to_be_bytes()[..], kind, body].concat()
}

/// The file with the body of the first box at a path changed. Chunk offsets are left alone: what grows must lie behind
/// the samples.
pub fn edit(bytes: &[u8], path: &[&[u8; 4]], change: &dyn Fn(&mut Vec<u8>)) -> Vec<u8> {
    let mut out = Vec::new();
    let mut rest = bytes;
    let mut done = false;
    while rest.len() >= 8 {
        let size = u32::from_be_bytes(rest[..4].try_into().unwrap()) as usize;
        let (whole, after) = rest.split_at(size);
        let kind: [u8; 4] = whole[4..8].try_into().unwrap();
        if !done && &kind == path[0] {
            done = true;
            let mut body = whole[8..].to_vec();
            if path.len() > 1 {
                body = edit(&body, &path[1..], change);
            } else {
                change(&mut body);
            }
            out.extend(boxed(&kind, &body));
        } else {
            out.extend_from_slice(whole);
        }
        rest = after;
    }
    assert!(done, "no such box");
    out
}
