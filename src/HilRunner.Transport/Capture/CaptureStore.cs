using System.Security.Cryptography;
using HilRunner.Core.Capture;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Capture;

/// <summary>Captures in pcapng files. A long one goes on in further files beside the first (link.1.pcapng …), each readable alone.</summary>
public sealed class CaptureStore : ICaptureStore
{
    public const long DefaultPartBytes = 1024L * 1024 * 1024;
    private readonly long _partBytes;

    /// <param name="partBytes">A part that would grow beyond this many bytes is closed and the next begun. At least 1024; default 1 GiB.</param>
    public CaptureStore(long partBytes = DefaultPartBytes)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(partBytes, 1024);
        _partBytes = partBytes;
    }

    /// <exception cref="IOException">There is a capture at this path already (none is ever overwritten), or it cannot be created.</exception>
    public ICaptureWriter Create(string path, HostClock clock)
    {
        string next = CaptureParts.PathOf(path, 1);
        if (File.Exists(next))
        {
            throw new IOException($"{next} exists: it would be read as the second part of the capture; move it or write to another folder");
        }
        return new CaptureWriter(path, clock, _partBytes);
    }

    /// <exception cref="IOException">The file is absent or cannot be read.</exception>
    public ICaptureReader Open(string path) => new CaptureReader(path);

    public string Sha256(string path)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        byte[] buffer = new byte[1 << 16];
        for (int part = 0; part == 0 || PlainFile.IsThere(CaptureParts.PathOf(path, part)); part++)
        {
            using var file = PlainFile.OpenRead(CaptureParts.PathOf(path, part));
            for (int read = file.Read(buffer); read > 0; read = file.Read(buffer)) { hash.AppendData(buffer, 0, read); }
        }
        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }
}
