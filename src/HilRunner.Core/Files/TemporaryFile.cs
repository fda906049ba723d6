using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files;

/// <summary>Space on a disk for what does not fit into memory could not be had (exit code 3).</summary>
public sealed class TemporaryFileException(string message, Exception cause) : IOException(message, cause);

/// <summary>
/// Bytes on a disk for as long as they are needed. The file is this user's alone and has no name any more once it is open, so
/// that nothing is left behind, whatever ends the program. It lies in TMPDIR, else in /var/tmp, which unlike /tmp is never
/// memory.
/// </summary>
internal sealed class TemporaryFile : IDisposable
{
    private const string LargeFiles = "/var/tmp";

    private readonly SafeFileHandle _handle;
    private readonly string _folder;
    private long _length;

    /// <exception cref="TemporaryFileException">No such file can be made.</exception>
    public TemporaryFile()
    {
        bool said = Environment.GetEnvironmentVariable("TMPDIR") is { Length: > 0 };
        _folder = !said && Directory.Exists(LargeFiles) ? LargeFiles : Path.GetTempPath();
        try
        {
            string path = Path.Combine(_folder, "hil-" + Path.GetRandomFileName());
            _handle = File.OpenHandle(path, FileMode.CreateNew, FileAccess.ReadWrite,
                FileShare.None, OperatingSystem.IsWindows() ? FileOptions.DeleteOnClose : FileOptions.None);
            if (OperatingSystem.IsWindows()) { return; }
            File.SetUnixFileMode(_handle, UnixFileMode.UserRead | UnixFileMode.UserWrite);
            File.Delete(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException) { throw Trouble(e); }
    }

    /// <exception cref="TemporaryFileException">The disk is full.</exception>
    public void Append(ReadOnlySpan<byte> bytes)
    {
        try { RandomAccess.Write(_handle, bytes, _length); }
        catch (IOException e) { throw Trouble(e); }
        _length += bytes.Length;
    }

    /// <summary>Fills all of <paramref name="bytes"/> from a place on.</summary>
    public void Read(Span<byte> bytes, long offset)
    {
        while (bytes.Length > 0)
        {
            int read;
            try { read = RandomAccess.Read(_handle, bytes, offset); }
            catch (IOException e) { throw Trouble(e); }
            if (read == 0) { throw Trouble(new EndOfStreamException("the file ends too early")); }
            bytes = bytes[read..];
            offset += read;
        }
    }

    public void Dispose() => _handle.Dispose();

    private TemporaryFileException Trouble(Exception cause) =>
        new($"{_folder}: no room for what does not fit into memory ({cause.Message.TrimEnd('.')}); expected some 8 bytes a value; set TMPDIR to a folder on a larger disk", cause);
}
