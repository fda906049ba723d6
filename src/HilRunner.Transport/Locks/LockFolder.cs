using System.Security.Cryptography;
using HilRunner.Transport.Posix;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Transport.Locks;

/// <summary>
/// A folder for small files by which calls of this program learn of each other, those of other users too. Nothing in it is
/// trusted: every file is made anew under a name that nobody can guess, what others made is opened only as a plain file, without
/// following links and without waiting, is never written to, and its permissions are never changed.
/// </summary>
/// <param name="Path">The folder.</param>
/// <param name="IsShared">All users of the machine can write to it; false: it is this user's own.</param>
public sealed record LockFolder(string Path, bool IsShared)
{
    /// <summary>Where the system keeps locks (Filesystem Hierarchy Standard 3.0, 3.15 and 5.9).</summary>
    private static readonly string[] s_shared = ["/run/lock", "/var/lock"];

    /// <summary>Everybody may read, which is all that asking for a lock takes; nobody else may write.</summary>
    private const UnixFileMode Mode =
        UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead | UnixFileMode.OtherRead;

    /// <summary>A folder that all users share, or this user's own.</summary>
    /// <exception cref="IOException">There is neither.</exception>
    public static LockFolder Find() => Shared(s_shared) ?? Own();

    /// <summary>This user's own: the same for a call from a terminal and one from a timer, where there is a home.</summary>
    /// <exception cref="IOException">It cannot be made.</exception>
    public static LockFolder Own()
    {
        string? state = Environment.GetEnvironmentVariable("XDG_STATE_HOME") is { Length: > 0 } set ? set
            : Environment.GetFolderPath(Environment.SpecialFolder.UserProfile) is { Length: > 0 } home
            ? System.IO.Path.Combine(home, ".local", "state") : null;
        return Own(state, Environment.GetEnvironmentVariable("XDG_RUNTIME_DIR"));
    }

    /// <summary>
    /// The first that all may use, and in which none can take away what another made; only root may have made it, else its owner
    /// could put another in its place.
    /// </summary>
    internal static LockFolder? Shared(IEnumerable<string> paths) =>
        paths.Where(p => Libc.IsAvailable && FileStatus.Of(p, out FileStatus status) == Errno.None
            && status is { IsSharedFolder: true, Owner: 0 }).Select(p => new LockFolder(p, true)).FirstOrDefault();

    internal static LockFolder Own(params ReadOnlySpan<string?> parents)
    {
        Exception? why = null;
        foreach (string? parent in parents)
        {
            if (parent is null || !System.IO.Path.IsPathFullyQualified(parent)) { continue; }
            try { return new(OwnFolder.Make(System.IO.Path.Combine(parent, "hil")), false); }
            catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { why = fault; }
        }
        throw new IOException($"there is no folder for locks: {why?.Message ?? "this user has no home"}", why);
    }

    /// <summary>Whatever else is in the folder, in no order.</summary>
    internal IEnumerable<string> Names(string prefix) => Directory.EnumerateFileSystemEntries(Path, prefix + "*");

    /// <summary>A new file, open for writing: PREFIX, a random part, SUFFIX.</summary>
    /// <exception cref="IOException">It cannot be made, on a full disk for instance.</exception>
    /// <exception cref="UnauthorizedAccessException">Nor may it.</exception>
    internal (string Path, SafeFileHandle File) Create(string prefix, string suffix)
    {
        string path =
            System.IO.Path.Combine(Path, $"{prefix}{Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(8))}{suffix}");
        var file = File.OpenHandle(path, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.ReadWrite | FileShare.Delete);
        if (!OperatingSystem.IsWindows()) { File.SetUnixFileMode(file, Mode); }
        return (path, file);
    }

    /// <summary>
    /// Opens what may be a file of another user, to read. Null: it is gone, may not be read, or is no plain file.
    /// </summary>
    internal static SafeFileHandle? OpenForeign(string path, out FileStatus status)
    {
        status = default;
        if (!Libc.IsAvailable)
        {
            return File.OpenHandle(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        }
        int number = Libc.Open(path, Libc.O_NOFOLLOW | Libc.O_NONBLOCK | Libc.O_NOCTTY | Libc.O_CLOEXEC);
        if (number < 0) { return null; }
        var file = new SafeFileHandle(number, ownsHandle: true);
        if (FileStatus.Of(number, out status) == Errno.None && status.IsRegularFile) { return file; }
        file.Dispose();
        return null;
    }
}
