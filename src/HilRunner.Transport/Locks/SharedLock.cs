using HilRunner.Transport.Posix;
using Microsoft.Win32.SafeHandles;
using Polly;
using Polly.Retry;

namespace HilRunner.Transport.Locks;

/// <summary>
/// Keeps something to one process at a time, whoever runs it. Each that wants it makes a file of its own beside those of the
/// others and locks it (flock), and has it if none of the other files is locked then: of two that come at once at least one sees
/// the other, since each looks after it has locked. No file is shared, so that no user can take another's away, put a link, a
/// pipe or a folder in its place, or keep it from being made. The system lets go of a lock with its process; what such a file
/// leaves behind is removed by the next call of the same user.
/// </summary>
/// <remarks>A user who wants to can lock a file for good, and everybody is then told who: <see cref="LockHolder"/>.</remarks>
public sealed class SharedLock : IDisposable
{
    private const string Suffix = ".lock";
    private readonly string _path;
    private readonly SafeFileHandle _file;

    private SharedLock(string path, SafeFileHandle file) => (_path, _file) = (path, file);

    /// <summary>Whether this system has what it takes.</summary>
    public static bool IsAvailable => Libc.IsAvailable;

    /// <summary>Two that come at once both give way, and try again a little later, each at another moment.</summary>
    private static ResiliencePipeline<SharedLock?> Patience(TimeProvider time) =>
        new ResiliencePipelineBuilder<SharedLock?> { TimeProvider = time }
        .AddRetry(new RetryStrategyOptions<SharedLock?>
        {
            ShouldHandle = new PredicateBuilder<SharedLock?>().HandleResult(taken => taken is null),
            MaxRetryAttempts = 4, Delay = TimeSpan.FromMilliseconds(50), UseJitter = true,
        })
        .Build();

    /// <param name="name">What is locked: letters, digits and hyphens.</param>
    /// <returns>Null where another process has it; then <paramref name="holder"/> is who.</returns>
    /// <exception cref="IOException">No file can be made, on a full disk for instance; nobody else has it.</exception>
    /// <exception cref="UnauthorizedAccessException">Nor may one be made.</exception>
    public static SharedLock? Take(LockFolder folder, string name, TimeProvider time, out LockHolder? holder)
    {
        LockHolder? found = null;
        var taken = Patience(time).Execute(() => TakeOnce(folder, $"hil-{name}-", out found));
        holder = taken is null ? found : null;
        return taken;
    }

    /// <summary>Its file goes first: nobody else uses its name.</summary>
    public void Dispose()
    {
        if (_file.IsClosed) { return; }
        Remove(_path);
        _file.Dispose();
    }

    private static SharedLock? TakeOnce(LockFolder folder, string prefix, out LockHolder? holder)
    {
        // Somebody who has it is told also where no file can be made.
        holder = Holder(folder, prefix, except: null, sweep: true);
        if (holder is not null) { return null; }
        var (path, file) = folder.Create(prefix, Suffix);
        var mine = new SharedLock(path, file);
        try
        {
            // Another that looks at it this moment, or has swept it away as left behind: as if somebody had it.
            int number = (int)file.DangerousGetHandle();
            bool locked = Libc.Flock(number, Libc.LOCK_EX | Libc.LOCK_NB) == 0 && File.Exists(path);
            _ = FileStatus.Of(number, out FileStatus status);
            holder = locked ? Holder(folder, prefix, except: path, sweep: false) : LockHolder.Of(path, status);
            if (holder is null) { return mine; }
        }
        catch
        {
            mine.Dispose();
            throw;
        }
        mine.Dispose();
        return null;
    }

    /// <param name="sweep">Remove what calls of this user left behind.</param>
    private static LockHolder? Holder(LockFolder folder, string prefix, string? except, bool sweep)
    {
        foreach (string path in folder.Names(prefix).Where(p => p.EndsWith(Suffix, StringComparison.Ordinal) && p != except))
        {
            using var file = LockFolder.OpenForeign(path, out FileStatus status);
            if (file is null) { continue; }
            int number = (int)file.DangerousGetHandle();
            if (Libc.Flock(number, Libc.LOCK_SH | Libc.LOCK_NB) < 0 && Libc.LastError == Errno.EAGAIN)
            {
                return LockHolder.Of(path, status);
            }
            if (!sweep || status.Owner != Libc.EffectiveUser) { continue; }
            Remove(path);
        }
        return null;
    }

    private static void Remove(string path)
    {
        try { File.Delete(path); }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            // It stays, and holds up nobody: a file that no process has locked is none.
        }
    }
}
