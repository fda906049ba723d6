using System.Text;

namespace HilRunner.Core.Files;

/// <summary>Writes a file whole or not at all: a reader never meets half of it, also when the writer is killed.</summary>
public static class AtomicFile
{
    /// <summary>UTF-8 without byte order mark, lines ended by \n.</summary>
    /// <exception cref="IOException">The file cannot be written; a file of that name stays as it was.</exception>
    public static void WriteText(string path, Action<TextWriter> write)
    {
        string temporary = path + ".part";
        try
        {
            using (var writer = new StreamWriter(temporary, append: false, new UTF8Encoding(false)) { NewLine = "\n" })
            {
                write(writer);
            }
            File.Move(temporary, path, overwrite: true);
        }
        catch
        {
            File.Delete(temporary);
            throw;
        }
    }
}
