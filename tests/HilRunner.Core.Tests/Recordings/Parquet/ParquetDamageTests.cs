using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Parquet;

/// <summary>Files with bytes changed, cut out, doubled or put in: read, or refused with a sentence; nothing else.</summary>
internal sealed class ParquetDamageTests
{
    [Test]
    public void Damage_ends_in_a_sentence([Values(false, true)] bool decimals)
    {
        int cases = int.TryParse(Environment.GetEnvironmentVariable("HIL_DAMAGE_CASES"), out int said) ? said : 300;
        using var folder = TestPaths.NewFolder();
        byte[] good = Good(folder, decimals);
        string path = folder.File("damaged.parquet");
        int refused = 0;
        for (int seed = 0; seed < cases; seed++)
        {
            File.WriteAllBytes(path, Damaged(good, new Random(seed)));
            try
            {
                RecordingFile.Read(path);
            }
            catch (BadInputException) { refused++; }
            catch (Exception e) { throw new InvalidOperationException($"seed {seed}", e); }
            try { RecordingImport.Survey(path, ImportMapFile.Read(null, []), new ImportDestination(folder.Path)); }
            catch (BadInputException) { }
            catch (Exception e) { throw new InvalidOperationException($"import, seed {seed}", e); }
        }
        Assert.That(refused, Is.GreaterThan(cases / 4), "damage that is damage");
    }

    private static byte[] Good(TemporaryFolder folder, bool decimals)
    {
        var random = new Random(1);
        var recording = new Recording
        {
            Name = "a",
            Rate = new SampleRate(50_000),
            ChannelNames = ["ax", "ay", "az"],
            Channels = [.. Enumerable.Range(0, 3)
                .Select(_ => Enumerable.Range(0, 400).Select(_ => Math.Round(random.NextDouble(), 3)).ToArray())],
            Labels = [new(new(0), new(1_000_000_000), "resting")],
        };
        RecordingFile.Write(folder.File("a.csv"), recording);
        RecordingFile.Write(folder.File("a.parquet"), recording);
        if (!decimals) { return File.ReadAllBytes(folder.File("a.parquet")); }
        RecordingImport.Write(
            RecordingImport.Survey(
                folder.File("a.csv"), ImportMapFile.Read(null, []), new ImportDestination(folder.File("shelf"), Parquet: true)));
        return File.ReadAllBytes(folder.File("shelf/a.parquet"));
    }

    private static byte[] Damaged(byte[] good, Random random)
    {
        var bytes = good.ToList();
        // Half of the changes in the last third, where the footer is: it decides what is done with the rest.
        int Place() => random.Next(2) == 0 ? random.Next(bytes.Count) : bytes.Count - 1 - random.Next(bytes.Count / 3);
        for (int n = random.Next(1, 4); n > 0; n--)
        {
            int at = Place(), length = Math.Min(random.Next(1, 9), bytes.Count - at);
            switch (random.Next(6))
            {
                case 0: bytes[at] ^= (byte)(1 << random.Next(8)); break;
                case 1: bytes[at] = (byte)random.Next(256); break;
                case 2: bytes.RemoveRange(at, length); break;
                case 3: bytes.InsertRange(at, bytes.GetRange(at, length)); break;
                case 4: for (int i = 0; i < length; i++) { bytes[at + i] = (byte)(random.Next(2) * 255); } break;
                default: bytes[at] = (byte)(bytes[at] + 1); break;
            }
        }
        return [.. bytes];
    }
}
