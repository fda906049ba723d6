namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>Every reader of bytes from outside. Who adds one to the tool adds its line here.</summary>
internal static class ReaderTable
{
    public static IReadOnlyList<Reader> All { get; } = [.. DocumentReaders.All,
        .. RecordingReaders.All, .. StoredReaders.All, .. DeviceReaders.All];

    /// <exception cref="ArgumentException">There is none of that name.</exception>
    public static Reader Of(string name) => All.FirstOrDefault(r => r.Name == name)
        ?? throw new ArgumentException($"no reader {name}; there are {string.Join(", ", All.Select(r => r.Name))}");
}
