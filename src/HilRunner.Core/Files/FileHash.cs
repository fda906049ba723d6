using System.Security.Cryptography;
using System.Text;

namespace HilRunner.Core.Files;

/// <summary>Identity of a file by its content.</summary>
public static class FileHash
{
    /// <summary>SHA-256 (FIPS 180-4) of the file's bytes, 64 lowercase hexadecimal digits. Reads it as a stream.</summary>
    /// <exception cref="BadInputException">There is something else than a file.</exception>
    /// <exception cref="IOException">The file cannot be read.</exception>
    /// <exception cref="UnauthorizedAccessException">The file may not be read.</exception>
    public static string Sha256(string path)
    {
        GivenFile.Check(path, "a file");
        using var stream = File.OpenRead(path);
        return Sha256(stream);
    }

    /// <summary>Of what is left of a stream.</summary>
    public static string Sha256(Stream stream) => Convert.ToHexStringLower(SHA256.HashData(stream));

    /// <summary>The same of a text's UTF-8 bytes: equal to the file's where the file has no byte order mark.</summary>
    public static string Sha256OfText(string text) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)));
}
