//! A ring of sectors: where the newest leaf is, where the next one goes, which sector may be erased.

use crate::leaf::{Head, LEAF, block, head, is_blank, is_whole, program, program_page};
use crate::{Fault, PAGE, SECTOR};
use embedded_storage::nor_flash::MultiwriteNorFlash;
use keyway_core::kept::LONGEST;

/// Leaves of a sector.
const LEAVES: u16 = (SECTOR / LEAF) as u16;
/// Where a sector's mark stands.
const MARK_AT: u32 = SECTOR - MARK.len() as u32;
/// The mark of a sector whose erase ended and was looked at.
const MARK: [u8; 8] = *b"blank\x5a\xa5\x3c";
/// Erases in one call at most.
const ERASES: u8 = 2;
/// Leaves tried in one call at most.
const TRIES: u8 = 6;

/// The sectors of one place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ring {
    kind: u8,
    first: u16,
    sectors: u16,
    /// Sectors that tidying keeps fresh ahead.
    ahead: u16,
    /// The leaf last written, whole or not, and its sequence.
    newest: Option<(u16, u32)>,
    /// The newest whole leaf: what is kept. Its sector is never erased.
    kept: Option<u16>,
}

/// What a sector is good for.
enum Sector {
    /// Erased, marked, and this leaf of it still blank; the leaves before it hold nothing whole.
    Fresh(u16),
    /// Must be erased before it is used.
    Stale,
}

impl Ring {
    pub(crate) const fn new(kind: u8, first: u16, sectors: u16, ahead: u16) -> Self {
        Self { kind, first, sectors, ahead, newest: None, kept: None }
    }

    fn leaves(&self) -> u16 {
        self.sectors * LEAVES
    }

    fn address(&self, leaf: u16) -> u32 {
        u32::from(self.first) * SECTOR + u32::from(leaf) * LEAF
    }

    fn sector_address(&self, sector: u16) -> u32 {
        u32::from(self.first + sector) * SECTOR
    }

    fn is_ring_of_records(&self) -> bool {
        self.kind == 4
    }

    /// The head of a leaf, where it belongs to this ring.
    fn head_of<F: MultiwriteNorFlash>(&self, flash: &mut F, leaf: u16) -> Result<Option<Head>, Fault> {
        Ok(head(flash, self.address(leaf))?.filter(|head| head.kind == self.kind))
    }

    /// The leaf with the highest sequence below `bound` among those with this key.
    fn before<F: MultiwriteNorFlash>(
        &self,
        flash: &mut F,
        key: Option<u32>,
        bound: Option<u32>,
    ) -> Result<Option<(u16, Head)>, Fault> {
        let mut best: Option<(u16, Head)> = None;
        for leaf in 0..self.leaves() {
            let Some(head) = self.head_of(flash, leaf)? else { continue };
            let asked =
                key.is_none_or(|key| key == head.key) && bound.is_none_or(|bound| head.sequence < bound);
            if asked && best.is_none_or(|(_, best)| head.sequence > best.sequence) {
                best = Some((leaf, head));
            }
        }
        Ok(best)
    }

    /// Finds out where the ring stands.
    pub(crate) fn open<F: MultiwriteNorFlash>(&mut self, flash: &mut F) -> Result<(), Fault> {
        let mut found = self.before(flash, None, None)?;
        self.newest = found.map(|(leaf, head)| (leaf, head.sequence));
        self.kept = None;
        while let Some((leaf, head)) = found {
            if is_whole(flash, self.address(leaf), &head)? {
                self.kept = Some(leaf);
                break;
            }
            found = self.before(flash, None, Some(head.sequence))?;
        }
        Ok(())
    }

    /// The newest whole block with this key; empty where the place was emptied.
    pub(crate) fn load<'a, F: MultiwriteNorFlash>(
        &self,
        flash: &mut F,
        key: u32,
        room: &'a mut [u8; LONGEST],
    ) -> Result<Option<&'a [u8]>, Fault> {
        let mut found = self.before(flash, Some(key), None)?;
        while let Some((leaf, head)) = found {
            if is_whole(flash, self.address(leaf), &head)? {
                return block(flash, self.address(leaf), &head, room);
            }
            found = self.before(flash, Some(key), Some(head.sequence))?;
        }
        Ok(None)
    }

    /// Whether nothing that is kept lies in a sector.
    fn may_erase<F: MultiwriteNorFlash>(&self, flash: &mut F, sector: u16) -> Result<bool, Fault> {
        if !self.is_ring_of_records() {
            return Ok(self.kept.is_none_or(|leaf| leaf / LEAVES != sector));
        }
        for leaf in sector * LEAVES..(sector + 1) * LEAVES {
            // A whole head is enough to stay, so that a full store is found out in milliseconds.
            if self.head_of(flash, leaf)?.is_some() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn look_at<F: MultiwriteNorFlash>(&self, flash: &mut F, sector: u16) -> Result<Sector, Fault> {
        let mut mark = [0; MARK.len()];
        flash.read(self.sector_address(sector) + MARK_AT, &mut mark).map_err(|_| Fault::Flash)?;
        if mark != MARK {
            return Ok(Sector::Stale);
        }
        let current = self.newest.is_some_and(|(leaf, _)| leaf / LEAVES == sector);
        let mut free = None;
        for leaf in sector * LEAVES..(sector + 1) * LEAVES {
            let length = if leaf % LEAVES == LEAVES - 1 { LEAF - MARK.len() as u32 } else { LEAF };
            if is_blank(flash, self.address(leaf), length)? {
                free = free.or(Some(leaf));
            } else if !current && self.head_of(flash, leaf)?.is_some() {
                return Ok(Sector::Stale);
            } else {
                free = None;
            }
        }
        Ok(free.map_or(Sector::Stale, Sector::Fresh))
    }

    /// Erases a sector, looks at it and marks it. `false` where it does not come out blank.
    fn freshen<F: MultiwriteNorFlash>(&self, flash: &mut F, sector: u16) -> Result<bool, Fault> {
        let address = self.sector_address(sector);
        let page_at = address + SECTOR - PAGE;
        let mut page = [0xFF; PAGE as usize];
        page.iter_mut().rev().take(MARK.len()).for_each(|byte| *byte = 0);
        flash.write(page_at, &page).map_err(|_| Fault::Flash)?;
        flash.erase(address, address + SECTOR).map_err(|_| Fault::Flash)?;
        if !is_blank(flash, address, SECTOR)? {
            return Ok(false);
        }
        page.iter_mut().rev().zip(MARK.iter().rev()).for_each(|(byte, mark)| *byte = *mark);
        program_page(flash, page_at, &page)
    }

    /// Keeps a block. Bounded: at most two erases and six leaves; usually no erase and one leaf.
    pub(crate) fn save<F: MultiwriteNorFlash>(
        &mut self,
        flash: &mut F,
        bad: &mut Bad,
        key: u32,
        bytes: &[u8],
    ) -> Result<(), Fault> {
        let (mut erases, mut tries, mut refused) = (0, 0, false);
        let at = self.newest.map_or(0, |(leaf, _)| leaf / LEAVES);
        // Once round and the first sector again: it may hold nothing that is kept by then.
        for step in 0..=self.sectors {
            let sector = (at + step) % self.sectors;
            if bad.is(self.first + sector) {
                continue;
            }
            let mut free = self.look_at(flash, sector)?;
            if matches!(free, Sector::Stale) {
                if !self.may_erase(flash, sector)? {
                    continue;
                }
                if erases == ERASES {
                    return Err(Fault::Worn);
                }
                erases += 1;
                if !self.freshen(flash, sector)? {
                    bad.add(self.first + sector);
                    refused = true;
                    continue;
                }
                free = Sector::Fresh(sector * LEAVES);
            }
            let Sector::Fresh(from) = free else { continue };
            for leaf in from..(sector + 1) * LEAVES {
                if tries == TRIES {
                    return Err(Fault::Worn);
                }
                tries += 1;
                let sequence = self.newest.map_or(1, |(_, sequence)| sequence.saturating_add(1));
                self.newest = Some((leaf, sequence));
                let head = Head::of(self.kind, key, sequence, bytes);
                if program(flash, self.address(leaf), &head, bytes)? {
                    self.kept = Some(leaf);
                    return Ok(());
                }
                refused = true;
            }
            // A sector whose leaves do not take what is written is not tried again before the next start.
            bad.add(self.first + sector);
        }
        Err(if refused || !self.is_ring_of_records() { Fault::Worn } else { Fault::Full })
    }

    /// Erases one sector ahead if one is due; whether it did.
    pub(crate) fn tidy<F: MultiwriteNorFlash>(&self, flash: &mut F, bad: &mut Bad) -> Result<bool, Fault> {
        let (at, steps) = match self.newest {
            Some((leaf, _)) => (leaf / LEAVES, 1..=self.ahead),
            None => (0, 0..=self.ahead - 1),
        };
        for step in steps {
            let sector = (at + step) % self.sectors;
            if bad.is(self.first + sector) || matches!(self.look_at(flash, sector)?, Sector::Fresh(_)) {
                continue;
            }
            if self.may_erase(flash, sector)? {
                if !self.freshen(flash, sector)? {
                    bad.add(self.first + sector);
                }
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Erases one sector of which no record has a number above `to`; how many records went with it.
    pub(crate) fn forget<F: MultiwriteNorFlash>(
        &mut self,
        flash: &mut F,
        bad: &mut Bad,
        to: u32,
    ) -> Result<Option<u16>, Fault> {
        for sector in 0..self.sectors {
            let mut gone = 0;
            let mut stays = bad.is(self.first + sector);
            for leaf in sector * LEAVES..(sector + 1) * LEAVES {
                if let Some(head) = self.head_of(flash, leaf)? {
                    gone += 1;
                    stays |= head.key > to;
                }
            }
            if gone > 0 && !stays {
                if !self.freshen(flash, sector)? {
                    bad.add(self.first + sector);
                }
                if self.kept.is_some_and(|leaf| leaf / LEAVES == sector) {
                    self.open(flash)?;
                }
                return Ok(Some(gone));
            }
        }
        Ok(None)
    }

    /// Leaves that can still be written without forgetting anything, the lowest and the highest key kept.
    pub(crate) fn survey<F: MultiwriteNorFlash>(
        &self,
        flash: &mut F,
    ) -> Result<(u16, Option<(u32, u32)>), Fault> {
        let (mut free, mut keys) = (0, None);
        for leaf in 0..self.leaves() {
            match self.head_of(flash, leaf)? {
                Some(head) if head.length > 0 => {
                    let (low, high) = keys.unwrap_or((head.key, head.key));
                    keys = Some((head.key.min(low), head.key.max(high)));
                }
                _ => {
                    let mut first = [0; 1];
                    flash.read(self.address(leaf), &mut first).map_err(|_| Fault::Flash)?;
                    free += u16::from(first == [0xFF]);
                }
            }
        }
        Ok((free, keys))
    }
}

/// Sectors that failed since the start, one bit each.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Bad([u32; 8]);

impl Bad {
    fn is(&self, sector: u16) -> bool {
        self.0.get(usize::from(sector / 32)).is_none_or(|bits| bits & (1 << (sector % 32)) != 0)
    }

    fn add(&mut self, sector: u16) {
        if let Some(bits) = self.0.get_mut(usize::from(sector / 32)) {
            *bits |= 1 << (sector % 32);
        }
    }

    pub(crate) fn count(&self) -> u32 {
        self.0.iter().map(|bits| bits.count_ones()).sum()
    }
}
