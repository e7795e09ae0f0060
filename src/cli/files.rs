use super::failure::Failure;
use crate::scenario::{Loaded, load_with};
use std::fs;
use std::io::{self, Write};
use std::path::Path;
use tempfile::NamedTempFile;

/// Reads and checks a scenario file, with the maps that it names.
pub fn load_file(path: &Path) -> Result<Loaded, Failure> {
    let bytes = read_file(path)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let line =
            error.as_bytes()[..error.utf8_error().valid_up_to()].iter().filter(|byte| **byte == b'\n').count() + 1;
        Failure::bad_input(format!("{}, line {line}: not UTF-8; save the file as UTF-8 text", path.display()))
    })?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let beside = |file: &str| read_file(&folder.join(file)).map_err(|failure| failure.message);
    Ok(load_with(&path.display().to_string(), &text, &beside)?)
}

/// The bytes of a file that the user named.
pub fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| {
        let path = path.display();
        Failure::bad_input(match error.kind() {
            io::ErrorKind::NotFound => format!("{path}: there is no such file"),
            io::ErrorKind::IsADirectory => format!("{path} is a folder; name a file"),
            _ => format!("{path} cannot be read: {error}"),
        })
    })
}

/// Refuses a folder that cannot be made or written into, before any work is done for it; makes nothing.
pub fn refuse_unwritable(folder: &Path) -> Result<(), Failure> {
    let there = folder.ancestors().find(|part| part.exists() && !part.as_os_str().is_empty());
    tempfile::tempfile_in(there.unwrap_or(Path::new("."))).map(drop).map_err(|error| {
        Failure::bad_input(format!("nothing can be written into {}: {error}; choose another --out", folder.display()))
    })
}

/// Writes a file whole: under a temporary name beside it, then renamed, so that nobody ever finds half of it.
pub fn write_whole(path: &Path, contents: &[u8]) -> Result<(), Failure> {
    let file = written_beside(path, contents)?;
    file.persist(path).map_err(|error| cannot_write(path, error.error))?;
    Ok(())
}

/// The same, but refuses to replace a file that is already there.
pub fn write_new(path: &Path, contents: &[u8]) -> Result<(), Failure> {
    let file = written_beside(path, contents)?;
    file.persist_noclobber(path).map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => already_there(path),
        _ => cannot_write(path, error.error),
    })?;
    Ok(())
}

/// Refuses a file that is already there.
pub fn refuse_existing(path: &Path) -> Result<(), Failure> {
    if path.exists() { Err(already_there(path)) } else { Ok(()) }
}

fn already_there(path: &Path) -> Failure {
    let path = path.display();
    Failure::bad_input(format!("{path} is already there; choose another name, or add --force to replace it"))
}

fn written_beside(path: &Path, contents: &[u8]) -> Result<NamedTempFile, Failure> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = NamedTempFile::new_in(folder).map_err(|error| cannot_write(path, error))?;
    file.write_all(contents).map_err(|error| cannot_write(path, error))?;
    make_readable(&file).map_err(|error| cannot_write(path, error))?;
    Ok(file)
}

/// Temporary files are private; what is written for the user is as readable as other files.
#[cfg(unix)]
fn make_readable(file: &NamedTempFile) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn make_readable(_: &NamedTempFile) -> io::Result<()> {
    Ok(())
}

fn cannot_write(path: &Path, error: io::Error) -> Failure {
    Failure::other(format!("{} cannot be written: {error}", path.display()))
}

/// Prints data to standard output. A reader that has seen enough (`| head`) is no failure.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::other(format!("standard output: {error}")))
        }
        _ => Ok(()),
    }
}

/// Talks on standard error, unless asked to be quiet.
pub fn say(quiet: bool, text: &str) {
    if !quiet {
        // Where standard error is closed there is nobody to talk to.
        let _ = writeln!(io::stderr(), "{text}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_only_when_asked() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("scenario.toml");
        write_new(&path, b"one").unwrap();
        assert!(write_new(&path, b"two").unwrap_err().message.contains("--force"));
        assert_eq!(fs::read(&path).unwrap(), b"one");
        write_whole(&path, b"three").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"three");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
