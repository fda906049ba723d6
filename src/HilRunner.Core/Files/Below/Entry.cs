using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files.Below;

/// <summary>How an entry is opened.</summary>
internal enum Opening { Read, New, Append }

/// <summary>
/// A name in a folder, reached without following a link below the folder that the person named (<see cref="NamedFolders"/>);
/// where none holds the path, the folder that it stands in counts as named.
/// </summary>
internal abstract class Entry(string path) : IDisposable
{
    /// <summary>As it was given.</summary>
    public string FullPath { get; } = path;

    public string Name { get; } = Path.GetFileName(NamedFolders.Full(path));

    public abstract EntryKind Kind { get; }

    /// <exception cref="BadInputException">A folder on the way is a link, or no folder.</exception>
    /// <exception cref="DirectoryNotFoundException">A folder on the way is not there.</exception>
    public static Entry At(string path) => FileCalls.IsAvailable ? new PosixEntry(path) : new PortableEntry(path);

    /// <exception cref="BadInputException">What is there is no plain file.</exception>
    /// <exception cref="IOException">It is not there, may not be opened, or (to be new) is there already.</exception>
    public abstract SafeFileHandle Open(Opening opening);

    /// <summary>A file of that name beside this one takes its place.</summary>
    public abstract void TakeFrom(string name);

    public abstract SafeFileHandle OpenBeside(string name);

    public abstract void DeleteBeside(string name);

    /// <summary>The folder of that name; made where it is not there.</summary>
    public abstract void MakeFolder();

    public abstract void Dispose();

    /// <exception cref="BadInputException">There is something, and it is no plain file.</exception>
    public void RefuseUnlessFile(EntryKind kind)
    {
        if (kind is not (EntryKind.File or EntryKind.Absent)) { throw Refused(FullPath, kind, "a plain file"); }
    }

    /// <summary>The folders between the named one and the entry, from the top, and the named one.</summary>
    protected static (string Named, string[] Between) Way(string path)
    {
        string folder = Path.GetDirectoryName(NamedFolders.Full(path))
            ?? throw new IOException($"{path}: is the root of a disk; expected a file or folder in one");
        string named = NamedFolders.Above(path) ?? folder;
        string between = Path.GetRelativePath(named, folder);
        return (named, between == "." ? [] : between.Split(Path.DirectorySeparatorChar));
    }

    protected static BadInputException Refused(string path, EntryKind kind, string expected)
    {
        string remedy = kind == EntryKind.Link
            ? "inside a folder that you name, no link is followed: put what it leads to in its place, or name it directly"
            : "remove it";
        return new([new(path, 0, 0, kind.Word(), expected, remedy)]);
    }
}
