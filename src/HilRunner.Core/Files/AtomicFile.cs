using System.Text;

namespace HilRunner.Core.Files;

/// <summary>Writes a file whole or not at all: a reader never meets half of it, also when the writer is killed.</summary>
public static class AtomicFile
{
    /// <summary>UTF-8 without byte order mark, lines ended by \n.</summary>
    /// <exception cref="BadInputException">What stands there is no plain file.</exception>
    /// <exception cref="IOException">The file cannot be written; a file of that name stays as it was.</exception>
    public static void WriteText(string path, Action<TextWriter> write) => Write(path, stream =>
    {
        using var writer = new StreamWriter(stream, new UTF8Encoding(false), leaveOpen: true) { NewLine = "\n" };
        write(writer);
    });

    /// <summary>Bytes.</summary>
    /// <exception cref="BadInputException">As for the other.</exception>
    /// <exception cref="IOException">As for the other.</exception>
    public static void Write(string path, Action<Stream> write)
    {
        using var file = new NewFile(path);
        write(file.Stream);
        file.Complete();
    }
}
