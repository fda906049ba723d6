using System.Text;

namespace HilRunner.Core.Files;

/// <summary>Reads a file that is held whole: at most so many bytes, whatever the file system says of its length.</summary>
internal static class WholeFile
{
    private const int PieceBytes = 1 << 16;

    /// <summary>UTF-8 unless a byte order mark says otherwise.</summary>
    /// <param name="path">For what is told.</param>
    /// <param name="open">Opens it.</param>
    /// <param name="longest">In bytes.</param>
    /// <exception cref="BadInputException">It is not there, may not be read, or is longer.</exception>
    public static string Text(string path, Func<FileStream> open, long longest)
    {
        var bytes = Bytes(path, open, longest);
        using var text = new StreamReader(new MemoryStream(bytes.Array!, bytes.Offset, bytes.Count), Encoding.UTF8);
        return text.ReadToEnd();
    }

    /// <inheritdoc cref="Text"/>
    public static ArraySegment<byte> Bytes(string path, Func<FileStream> open, long longest)
    {
        try
        {
            using var file = open();
            if (file.CanSeek && file.Length > longest) { throw TooLong(path, $"{file.Length} bytes", longest); }
            var held = new MemoryStream(file.CanSeek ? (int)file.Length : 0);
            byte[] piece = new byte[PieceBytes];
            for (int read = file.Read(piece); read > 0; read = file.Read(piece))
            {
                if (held.Length + read > longest) { throw TooLong(path, $"more than {longest} bytes", longest); }
                held.Write(piece, 0, read);
            }
            return new(held.GetBuffer(), 0, (int)held.Length);
        }
        catch (Exception fault) when (fault is FileNotFoundException or DirectoryNotFoundException)
        {
            throw new BadInputException([new(path, 0, 0, "no such file", "a file", "check the path and the working directory")]);
        }
        catch (Exception fault) when (fault is UnauthorizedAccessException or IOException)
        {
            throw new BadInputException([new(path, 0, 0, fault.Message.TrimEnd('.'), "a readable file")]);
        }
    }

    private static BadInputException TooLong(string path, string found, long longest) =>
        new([new(path, 0, 0, found, $"at most {longest} bytes")]);
}
