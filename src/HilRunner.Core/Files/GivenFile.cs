using System.Runtime.InteropServices;
using System.Text;

namespace HilRunner.Core.Files;

/// <summary>
/// What is given as an input file must be one: a pipe without a writer would hold the tool up for ever, a device never ends, and
/// most inputs are read more than once. It is asked before anything is opened.
/// </summary>
public static partial class GivenFile
{
    private const int AT_FDCWD = -100, ModeOffset = 28, StatusBytes = 256;
    private const uint STATX_TYPE = 1;

    /// <summary>Largest record of a run, a batch, a sweep or a case that the tool has written itself and reads again, in bytes.</summary>
    public const long LargestRecord = 256 << 20;

    /// <summary>A text of at most so many bytes, UTF-8 unless a byte order mark says otherwise.</summary>
    /// <exception cref="BadInputException">No plain file, none that may be read, or a longer one.</exception>
    public static string ReadText(string path, long longest)
    {
        try
        {
            Check(path, "a file");
            using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
            if (file.Length > longest) { throw TooLong(path, $"{file.Length} bytes", longest); }
            using var held = new MemoryStream((int)file.Length);
            byte[] piece = new byte[1 << 16];
            for (int read = file.Read(piece); read > 0; read = file.Read(piece))
            {
                // The length that a file system tells need not be the true one.
                if (held.Length + read > longest) { throw TooLong(path, $"more than {longest} bytes", longest); }
                held.Write(piece, 0, read);
            }
            held.Position = 0;
            using var text = new StreamReader(held, Encoding.UTF8);
            return text.ReadToEnd();
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            throw Bad(path, "no such file", "a file", "check the path and the working directory");
        }
        catch (Exception e) when (e is UnauthorizedAccessException or IOException)
        {
            throw Bad(path, e.Message.TrimEnd('.'), "a readable file");
        }
    }

    /// <summary>Passes where nothing is there: that is told by whoever opens it.</summary>
    /// <exception cref="BadInputException">There is something else than a file.</exception>
    public static void Check(string path, string expected)
    {
        if (Directory.Exists(path)) { throw Bad(path, "a folder", expected, "name a file in it"); }
        if (OtherKind(path) is { } found) { throw Bad(path, found, expected, "write what it gives to a file first"); }
    }

    /// <summary>Null: a file, nothing at all, or a system that cannot tell.</summary>
    private static string? OtherKind(string path)
    {
        if (!OperatingSystem.IsLinux() || path.Contains('\0', StringComparison.Ordinal)) { return null; }
        Span<byte> status = stackalloc byte[StatusBytes];
        if (Statx(AT_FDCWD, path, 0, STATX_TYPE, status) != 0) { return null; }
        // struct statx has one layout on all architectures (statx(2)); the types are those of inode(7).
        return (MemoryMarshal.Read<ushort>(status[ModeOffset..]) & 0xF000) switch
        {
            0x1000 => "a FIFO",
            0x2000 => "a device",
            0x6000 => "a block device",
            0xC000 => "a socket",
            _ => null,
        };
    }

    private static BadInputException TooLong(string path, string found, long longest) => Bad(path, found, $"at most {longest} bytes");

    private static BadInputException Bad(string path, string found, string expected, string remedy = "") => new([new Fault(path, 0, 0, found, expected, remedy)]);

    [LibraryImport("libc", EntryPoint = "statx", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Statx(int directory, string path, int flags, uint mask, Span<byte> status);
}
