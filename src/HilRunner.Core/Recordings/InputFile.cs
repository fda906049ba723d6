using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings;

/// <summary>Turns what the file system says into faults that name the file and what to do.</summary>
internal static class InputFile
{
    /// <exception cref="BadInputException">The file is missing, is no plain file, or may not be read.</exception>
    public static T Using<T>(string path, string expected, Func<T> read)
    {
        try
        {
            GivenFile.Check(path, expected);
            return read();
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            throw Bad(path, "no such file", expected, "check the path");
        }
        catch (UnauthorizedAccessException)
        {
            throw Bad(path, "a file that may not be read", expected, "give this user the right to read it");
        }
        catch (IOException e) when (e is not TemporaryFileException)
        {
            throw Bad(path, $"a file that cannot be read ({e.Message})", expected, "check the disk or copy the file elsewhere");
        }
    }

    private static BadInputException Bad(string path, string found, string expected, string remedy) =>
        new([new Fault(path, 0, 0, found, expected, remedy)]);
}
