using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Locks;

/// <summary>A folder that belongs to the user of this process alone, so that what is in it is theirs.</summary>
public static class OwnFolder
{
    /// <summary>Group or others may write.</summary>
    private const int WritableByOthers = 0x12;

    /// <summary>Makes it where it is not there; the folders above it, too.</summary>
    /// <returns>Its full path.</returns>
    /// <exception cref="IOException">
    /// What stands there is another user's, or others may write to it, or it is no folder, such as a link.
    /// </exception>
    public static string Make(string path)
    {
        path = Path.GetFullPath(path);
        if (OperatingSystem.IsWindows()) { return Directory.CreateDirectory(path).FullName; }
        path = Path.TrimEndingDirectorySeparator(path);
        Directory.CreateDirectory(path, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        if (!Libc.IsAvailable) { return path; }
        Errno error = FileStatus.OfItself(path, out FileStatus status);
        if (error == Errno.None && status.IsDirectory && status.Owner == Libc.EffectiveUser
            && (status.Permissions & WritableByOthers) == 0)
        {
            return path;
        }
        string found = error != Errno.None || !status.IsDirectory ? "no folder" : status.Owner != Libc.EffectiveUser
            ? $"a folder of user {status.Owner}" : "a folder that others may write to";
        throw new IOException($"{path} is {found}; expected one that is this user's alone: remove it, or name another");
    }
}
