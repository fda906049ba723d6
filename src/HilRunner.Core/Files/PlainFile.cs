using System.Text;
using HilRunner.Core.Files.Below;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files;

/// <summary>
/// The one place that opens, makes and replaces what stands inside an output folder: a run, a batch, a case, a sweep. Below the
/// folder that the person named no link is followed, and what is neither a plain file nor a folder is refused. What the person
/// named itself is opened as it is.
/// </summary>
/// <remarks>
/// Every call can throw <see cref="BadInputException"/> (a link, a FIFO, a socket, a device), <see cref="IOException"/> and
/// <see cref="UnauthorizedAccessException"/>.
/// </remarks>
public static class PlainFile
{
    private static readonly UTF8Encoding s_utf8 = new(false);

    /// <exception cref="FileNotFoundException">It is not there.</exception>
    public static FileStream OpenRead(string path) => new(OpenHandle(path), FileAccess.Read);

    /// <summary>As <see cref="OpenRead"/>, for reading by position, also of a file that grows.</summary>
    public static SafeFileHandle OpenHandle(string path)
    {
        if (NamedFolders.Has(path))
        {
            return File.OpenHandle(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        }
        using var entry = Entry.At(path);
        return entry.Open(Opening.Read);
    }

    /// <summary>A file that is not there yet; none is ever overwritten.</summary>
    public static SafeFileHandle CreateHandle(string path)
    {
        using var entry = Entry.At(path);
        return entry.Open(Opening.New);
    }

    /// <summary>As <see cref="CreateHandle"/>.</summary>
    public static FileStream Create(string path) => new(CreateHandle(path), FileAccess.Write);

    /// <summary>To be written at its end; made where it is not there.</summary>
    public static FileStream OpenAppend(string path)
    {
        using var entry = Entry.At(path);
        return new(entry.Open(Opening.Append), FileAccess.Write, bufferSize: 0);
    }

    /// <summary>UTF-8, at the file's end, handed to the operating system at once.</summary>
    public static void AppendText(string path, string text)
    {
        using var file = OpenAppend(path);
        file.Write(s_utf8.GetBytes(text));
    }

    /// <summary>Lines by \n.</summary>
    public static StreamWriter CreateText(string path) => new(Create(path), s_utf8) { NewLine = "\n" };

    /// <summary>All of it, as UTF-8.</summary>
    /// <param name="longest">In bytes.</param>
    /// <exception cref="BadInputException">It is longer, or not there.</exception>
    public static string ReadText(string path, long longest = LongestText) => WholeFile.Text(path, () => OpenRead(path), longest);

    /// <summary>All of it.</summary>
    /// <param name="longest">In bytes.</param>
    /// <exception cref="BadInputException">It is longer, or not there.</exception>
    public static ReadOnlyMemory<byte> ReadBytes(string path, long longest) =>
        WholeFile.Bytes(path, () => OpenRead(path), longest);

    /// <summary>Longest text of a record that is read whole, in bytes.</summary>
    public const long LongestText = 64 << 20;

    /// <summary>Whether a plain file is there.</summary>
    /// <exception cref="BadInputException">Something else is.</exception>
    public static bool IsThere(string path)
    {
        if (NamedFolders.Has(path)) { return File.Exists(path); }
        try
        {
            using var entry = Entry.At(path);
            EntryKind kind = entry.Kind;
            entry.RefuseUnlessFile(kind);
            return kind == EntryKind.File;
        }
        catch (DirectoryNotFoundException) { return false; }
    }

    /// <summary>Whether this is a link: true also where it leads nowhere.</summary>
    public static bool IsLink(string path) => new FileInfo(Path.TrimEndingDirectorySeparator(path)).LinkTarget is not null;

    /// <summary>Makes the folder and what is missing above it.</summary>
    /// <returns>The path, whole.</returns>
    public static string CreateFolder(string path)
    {
        string full = NamedFolders.Full(path);
        if (NamedFolders.Above(path) is { } named && !NamedFolders.Has(path))
        {
            Directory.CreateDirectory(named);
            foreach (string name in Path.GetRelativePath(named, full).Split(Path.DirectorySeparatorChar))
            {
                named = Path.Combine(named, name);
                using var entry = Entry.At(named);
                entry.MakeFolder();
            }
            return full;
        }
        Directory.CreateDirectory(full);
        return full;
    }

    /// <summary>Removes a plain file, where there is one.</summary>
    public static void Delete(string path)
    {
        using var entry = Entry.At(path);
        EntryKind kind = entry.Kind;
        entry.RefuseUnlessFile(kind);
        if (kind == EntryKind.File) { entry.DeleteBeside(entry.Name); }
    }
}
