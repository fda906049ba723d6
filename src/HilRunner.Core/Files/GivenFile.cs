using HilRunner.Core.Files.Below;

namespace HilRunner.Core.Files;

/// <summary>
/// What is given as an input file must be one: a pipe without a writer would hold the tool up for ever, a device never ends, and
/// most inputs are read more than once. It is asked before anything is opened.
/// </summary>
public static class GivenFile
{
    /// <summary>A text of at most so many bytes, UTF-8 unless a byte order mark says otherwise.</summary>
    /// <exception cref="BadInputException">No plain file, none that may be read, or a longer one.</exception>
    public static string ReadText(string path, long longest)
    {
        Check(path, "a file");
        return WholeFile.Text(
            path, () => new(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete), longest);
    }

    /// <summary>Passes where nothing is there: that is told by whoever opens it.</summary>
    /// <exception cref="BadInputException">There is something else than a file.</exception>
    public static void Check(string path, string expected)
    {
        if (Directory.Exists(path)) { throw Bad(path, "a folder", expected, "name a file in it"); }
        if (!FileCalls.IsAvailable || path.Contains('\0', StringComparison.Ordinal)) { return; }
        if (FileCalls.KindOfTarget(path) is var kind and not (EntryKind.File or EntryKind.Absent))
        {
            throw Bad(path, kind.Word(), expected, "write what it gives to a file first");
        }
    }

    private static BadInputException Bad(string path, string found, string expected, string remedy) =>
        new([new Fault(path, 0, 0, found, expected, remedy)]);
}
