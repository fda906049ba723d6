using System.Security.Cryptography;

namespace HilRunner.Core.Files;

/// <summary>Identity of a file by its content.</summary>
public static class FileHash
{
    /// <summary>SHA-256 (FIPS 180-4) of the file's bytes, 64 lowercase hexadecimal digits. Reads it as a stream.</summary>
    /// <exception cref="IOException">The file cannot be read.</exception>
    /// <exception cref="UnauthorizedAccessException">The file may not be read.</exception>
    public static string Sha256(string path)
    {
        using var stream = File.OpenRead(path);
        return Convert.ToHexStringLower(SHA256.HashData(stream));
    }
}
