using HilRunner.Fuzz.Tests.Readers;
using SharpFuzz;

namespace HilRunner.Fuzz.Tests.Running;

/// <summary>A reader on its own: for a fuzzer that is guided by coverage, and for files that it found.</summary>
internal static class Coverage
{
    /// <summary>Reads from the fuzzer whatever it sends. What is refused with a sentence is good; all else is a crash.</summary>
    public static int Fuzz(Stock stock, string name)
    {
        using var folder = Testing.TestPaths.NewFolder("cover");
        Reader? reader = null;
        Action<byte[]>? read = null;
        // Code that counts its branches crashes before the fuzzer has given it where to: nothing of the tool is touched until
        // then.
        Fuzzer.OutOfProcess.Run(stream =>
        {
            reader ??= ReaderTable.Of(name);
            read ??= reader.Open(stock, folder.Path);
            using var bytes = new MemoryStream();
            stream.CopyTo(bytes);
            try { read(bytes.ToArray()); }
            catch (Exception refused) when (reader.Refuses(refused)) { }
        });
        return 0;
    }

    public static int WriteSeeds(Stock stock, string name, string folder)
    {
        Directory.CreateDirectory(folder);
        int i = 0;
        foreach (byte[] seed in ReaderTable.Of(name).Seeds(stock))
        {
            File.WriteAllBytes(Path.Combine(folder, $"seed-{i++:00}"), seed);
        }
        return 0;
    }

    /// <summary>Says what becomes of each file.</summary>
    public static int Read(Stock stock, string name, IReadOnlyList<string> files)
    {
        var reader = ReaderTable.Of(name);
        using var folder = Testing.TestPaths.NewFolder("read");
        var read = reader.Open(stock, folder.Path);
        int wrong = 0;
        foreach (string file in files)
        {
            try
            {
                read(File.ReadAllBytes(file));
                Console.WriteLine($"{file}: accepted");
            }
            catch (Exception refused) when (reader.Refuses(refused)) { Console.WriteLine($"{file}: refused: {refused.Message}"); }
            catch (Exception fault)
            {
                wrong = 1;
                Console.WriteLine($"{file}: {fault}");
            }
        }
        return wrong;
    }
}
