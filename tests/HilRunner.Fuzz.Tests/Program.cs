using HilRunner.Fuzz.Tests.Running;

namespace HilRunner.Fuzz.Tests;

/// <summary>
/// The tests' own worker, and what repeats a case or fuzzes a reader by coverage: see the README beside this file.
/// </summary>
internal static class Program
{
    private static int Main(string[] args)
    {
        switch (args)
        {
            case ["worker", var stock]:
                Worker.Serve(new(stock));
                return 0;
            case ["stock", var folder]:
                Directory.CreateDirectory(folder);
                Stock.Make(folder);
                return 0;
            case ["seeds", var stock, var reader, var folder]:
                return Coverage.WriteSeeds(new(stock), reader, folder);
            case ["read", var stock, var reader, .. var files]:
                return Coverage.Read(new(stock), reader, files);
            case ["cover", var stock, var reader]:
                return Coverage.Fuzz(new(stock), reader);
            default:
                Console.Error.WriteLine(
                    "expected: stock FOLDER, read STOCK READER FILE…, seeds STOCK READER FOLDER, or cover STOCK READER (under afl-fuzz)");
                return 64;
        }
    }
}
