using System.Globalization;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Locks;

/// <summary>Who has a lock, as far as the system tells it.</summary>
/// <param name="Path">The file that is locked.</param>
/// <param name="Process">Null: a process that cannot be seen from here, in another container for instance.</param>
/// <param name="User">Number of the user who runs it, or of the file's owner where the process cannot be seen.</param>
/// <param name="SinceUnixS">When the file was made.</param>
public sealed record LockHolder(string Path, int? Process, uint User, long SinceUnixS)
{
    /// <summary>Number of the user who runs this process.</summary>
    public static uint ThisUser => Libc.EffectiveUser;

    /// <summary>
    /// "process 4711 since 10:04:11"; of another user "process 4711 of user 1001 since 10:04:11 (/run/lock/…)".
    /// </summary>
    public string Words(TimeProvider time)
    {
        string process = Process is { } id ? $"process {id}" : "a process that cannot be seen from here";
        bool other = User != Libc.EffectiveUser;
        var since = TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeSeconds(SinceUnixS), time.LocalTimeZone);
        return string.Create(CultureInfo.InvariantCulture,
            $"{process}{(other ? $" of user {User}" : "")} since {since:HH:mm:ss}{(other ? $" ({Path})" : "")}");
    }

    internal static LockHolder Of(string path, in FileStatus file)
    {
        int? process = ProcessOf(file.Inode);
        uint user = process is { } id && FileStatus.Of($"/proc/{id}", out FileStatus seen) == Errno.None
            ? seen.Owner : file.Owner;
        return new(path, process, user, file.ModifiedS);
    }

    /// <summary>From /proc/locks (Linux, proc_locks(5)): "1: FLOCK  ADVISORY  WRITE 4711 08:01:123456 0 EOF".</summary>
    private static int? ProcessOf(ulong inode)
    {
        try
        {
            foreach (string line in File.ReadLines("/proc/locks"))
            {
                string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
                if (words.Length >= 6 && words[1] == "FLOCK"
                    && words[5].EndsWith(string.Create(CultureInfo.InvariantCulture, $":{inode}"), StringComparison.Ordinal)
                    && int.TryParse(words[4], CultureInfo.InvariantCulture, out int process) && process > 0)
                {
                    return process;
                }
            }
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { }
        return null;
    }
}
