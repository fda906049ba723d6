using Polly;
using Polly.Retry;

namespace HilRunner.History.Database;

/// <summary>A file that one process at a time holds; the system lets go of it when the process dies.</summary>
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
    public static IDisposable Take(string path) => s_patience.Execute(() => new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1, FileOptions.DeleteOnClose));
}
