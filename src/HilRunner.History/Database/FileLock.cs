using Polly;
using Polly.Retry;

namespace HilRunner.History.Database;

/// <summary>
/// A file that one process at a time holds; the system lets go of it when the process dies. It stays: were it removed, one who
/// waits for it and one who makes it anew could both have it.
/// </summary>
internal static class FileLock
{
    private static readonly ResiliencePipeline<FileStream> s_patience = new ResiliencePipelineBuilder<FileStream>()
        .AddRetry(new RetryStrategyOptions<FileStream>
        {
            ShouldHandle = new PredicateBuilder<FileStream>().Handle<IOException>(),
            MaxRetryAttempts = 300,
            Delay = TimeSpan.FromMilliseconds(100),
        })
        .Build();

    /// <summary>Waits up to 30 s.</summary>
    /// <exception cref="IOException">A link stands at its place: what it leads to is not touched.</exception>
    public static IDisposable Take(string path)
    {
        if (new FileInfo(path).LinkTarget is not null)
        {
            throw new IOException($"{path} is a link; expected a file, or nothing: remove it");
        }
        return s_patience.Execute(() => new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1));
    }
}
