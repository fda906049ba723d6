using System.Text;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to the pages of a SQLite file: its header, its tables' headers, its schema's text.</summary>
internal static class SqliteMutations
{
    private const int Page = 4096;

    public static byte[] Step(byte[] bytes, Random random)
    {
        byte[] made = [.. bytes];
        if (made.Length < Page) { return made; }
        int page = random.Next(made.Length / Page) * Page;
        switch (random.Next(7))
        {
            case 0: return ByteMutations.Whole(made, random.Next(100), random);
            case 1: return ByteMutations.Whole(made, page + random.Next(16), random);
            case 2: made[page + random.Next(Page)] = (byte)random.Next(256); return made;
            case 3: Array.Clear(made, page, Page); return made;
            case 4: return made[..page];
            // A letter of what the schema says.
            case 5:
                int at = made.AsSpan().IndexOf("CREATE"u8);
                if (at > 0) { made[at + random.Next(300)] = (byte)" ,()'\"xX01"[random.Next(10)]; }
                return made;
            default:
                byte[] word = Encoding.UTF8.GetBytes(Nasty.Word(random));
                word.AsSpan(0, Math.Min(word.Length, 64)).CopyTo(made.AsSpan(page + random.Next(Page - 64)));
                return made;
        }
    }
}
